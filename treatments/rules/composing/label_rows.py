"""What labels ask between weeks: days apart, number and amount a year, oil away from sulfur."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import date
from decimal import Decimal

from treatments.rules.compatibility import days_apart
from treatments.rules.composing.families import Family
from treatments.rules.composing.rows import Grid, Row
from treatments.rules.composing.windows import crowded, near
from treatments.rules.facts import PastApplication, ProductFacts
from treatments.rules.labels.actives import limits_of, pounds_per_acre
from treatments.rules.labels.totals import amount_applied
from treatments.rules.table_files import read_toml

SIDES = ("first", "second")


def interval_rows(grid: Grid) -> Iterator[Row]:
    """Yield: of one label at most one application within its days, records included."""
    for label, offers in grid.labels.items():
        asked = [grid.season.offers[place].product.minimum_interval_days or 0 for place in offers]
        if not (limit := max(asked)):
            continue
        for run in crowded(grid.days, limit):
            yield Row(Family.INTERVAL, grid.columns(run, offers), 1)
        for day in {each.day for each in _past(grid) if each.product.label_key() == label}:
            if run := near(grid.days, day, limit):
                yield Row(Family.INTERVAL, grid.columns(run, offers), 0)


def _past(grid: Grid) -> Iterator[PastApplication]:
    for history in grid.histories:
        yield from history


def total_rows(grid: Grid) -> Iterator[Row]:
    """Yield: of one label no more applications and no more product in a calendar year."""
    for label, offers in grid.labels.items():
        for year, places in grid.years.items():
            pasts = [
                [
                    each
                    for each in history
                    if (each.product.label_key(), each.day.year) == (label, year)
                ]
                for history in grid.histories
            ]
            yield from _number_rows(grid, offers, places, pasts)
            yield from _amount_rows(grid, offers, places, pasts)


def _number_rows(
    grid: Grid, offers: list[int], places: list[int], pasts: list[list[PastApplication]]
) -> Iterator[Row]:
    limits = [
        limit
        for offer in offers
        if (limit := grid.season.offers[offer].product.maximum_applications_per_year) is not None
    ]
    if not limits:
        return
    left = max(0, min(limits) - max(len(past) for past in pasts))
    if left < len(places):
        yield Row(Family.TOTALS, grid.columns(places, offers), left)


def _amount_rows(
    grid: Grid, offers: list[int], places: list[int], pasts: list[list[PastApplication]]
) -> Iterator[Row]:
    limits = [
        limit
        for offer in offers
        if (limit := grid.season.offers[offer].product.maximum_amount_per_year) is not None
    ]
    if not limits:
        return
    used = max(
        sum((amount_applied(each) or Decimal(0) for each in past), Decimal(0)) for past in pasts
    )
    left = max(Decimal(0), min(limits) - used)
    amounts = {offer: _amount_on_ground(grid, offer) for offer in offers}
    if max(amounts.values()) * len(places) > left:
        yield weighed(Family.TOTALS, grid, places, amounts, left)


def active_rows(grid: Grid) -> Iterator[Row]:
    """Yield: of one active ingredient no more pounds an acre in a year than any label allows."""
    offers = range(grid.width)
    for name, (limit, _label) in limits_of([_product(grid, each) for each in offers]).items():
        amounts = {each: pounds_per_acre(grid.sample(each), name) or Decimal(0) for each in offers}
        for year, places in grid.years.items():
            left = max(Decimal(0), limit - _most_used(grid, name, year))
            if max(amounts.values()) * len(places) > left:
                yield weighed(Family.TOTALS, grid, places, amounts, left)


def _most_used(grid: Grid, name: str, year: int) -> Decimal:
    return max(
        sum(
            (pounds_per_acre(each, name) or Decimal(0) for each in past if each.day.year == year),
            Decimal(0),
        )
        for past in grid.histories
    )


def _amount_on_ground(grid: Grid, offer: int) -> Decimal:
    return amount_applied(grid.sample(offer)) or Decimal(0)


def weighed(
    family: Family, grid: Grid, places: list[int], amounts: dict[int, Decimal], limit: Decimal
) -> Row:
    """Return a row that holds amounts under a limit, scaled so that the limit is near 1."""
    scale = limit or max(amounts.values())
    offers = [offer for offer, amount in amounts.items() if amount]
    weights = [float(amounts[offer] / scale) for offer in offers] * len(places)
    return Row(family, grid.columns(places, offers), float(limit / scale), weights=weights)


def separation_rows(grid: Grid) -> Iterator[Row]:
    """Yield: families such as oil and sulfur are kept their days apart, both ways round.

    Products that keep the same distance from the same others share a row.
    """
    offers = [place for place, each in enumerate(grid.season.offers) if _has_family(each.product)]
    apart = {
        one: {other: _days_between(_product(grid, one), _product(grid, other)) for other in offers}
        for one in offers
    }
    longest = max((days for row in apart.values() for days in row.values()), default=0)
    for first, second, days in _pairs_within(grid.days, longest):
        for others, ones in _sharing(apart, days).items():
            columns = grid.columns([first], ones) + grid.columns([second], others)
            yield Row(Family.SEPARATION, columns, 1)
    for past in set(_past(grid)):
        for offer in offers:
            limit = _days_between(past.product, _product(grid, offer))
            if run := near(grid.days, past.day, limit):
                yield Row(Family.SEPARATION, grid.columns(run, [offer]), 0)


def _product(grid: Grid, offer: int) -> ProductFacts:
    return grid.season.offers[offer].product


def _has_family(product: ProductFacts) -> bool:
    named = {rule[side] for rule in read_toml("separations")["apart"] for side in SIDES}
    return bool(product.separation_classes() & named)


def _sharing(apart: dict[int, dict[int, int]], days: int) -> dict[tuple[int, ...], list[int]]:
    """Return which offers, these many days before, keep the same others away."""
    sharing: dict[tuple[int, ...], list[int]] = defaultdict(list)
    for offer, row in apart.items():
        if others := tuple(place for place, limit in row.items() if limit > days):
            sharing[others].append(offer)
    return sharing


def _pairs_within(days: list[date], span_days: int) -> Iterator[tuple[int, int, int]]:
    for first, day in enumerate(days):
        for second in range(first + 1, len(days)):
            between = (days[second] - day).days
            if between >= span_days:
                break
            yield first, second, between


def _days_between(one: ProductFacts, other: ProductFacts) -> int:
    """Return the days that two products are kept apart, 0 for such as need none."""
    if one is other:
        return 0
    mine, theirs = one.separation_classes(), other.separation_classes()
    return max(
        (
            days_apart(rule, one, other)
            for rule in read_toml("separations")["apart"]
            if (rule["first"] in mine and rule["second"] in theirs)
            or (rule["second"] in mine and rule["first"] in theirs)
        ),
        default=0,
    )

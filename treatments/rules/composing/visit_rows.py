"""Which weeks get a visit, which visits reach eggs in time, and which weeks are fixed."""

from collections.abc import Iterator
from datetime import date, timedelta

from treatments.rules.composing.families import Family
from treatments.rules.composing.rows import Grid, Row
from treatments.rules.composing.seasons import PinKind
from treatments.rules.composing.windows import stretches
from treatments.rules.facts import ProductFacts


def reaches_eggs(product: ProductFacts) -> bool:
    """Say whether an ingredient of a product acts on eggs."""
    return any("egg" in ingredient.stages_controlled for ingredient in product.ingredients)


def week_rows(grid: Grid) -> Iterator[Row]:
    """Yield: one product a week at most, and one at least where the week is not left out."""
    for place, week in enumerate(grid.weeks):
        columns = grid.week_columns(place)
        yield Row(None, columns, 1)
        if not grid.season.may_be_left_out(week):
            yield Row(Family.VISITS, columns, lower=1)


def pin_rows(grid: Grid) -> Iterator[Row]:
    """Yield: a fixed week gets its product, a skipped one nothing."""
    codes = [offer.code for offer in grid.season.offers]
    for place, week in enumerate(grid.weeks):
        pin = grid.season.pin_of(week)
        if pin and pin.kind is PinKind.FIXED:
            yield Row(Family.PINS, grid.columns([place], [codes.index(pin.code)]), lower=1)
        if pin and pin.kind is PinKind.SKIPPED:
            yield Row(Family.PINS, grid.week_columns(place), 0)


def egg_rows(grid: Grid) -> Iterator[Row]:
    """Yield: something that reaches eggs in every stretch as long as they may be left alone."""
    if grid.season.egg_reach_days is None:
        return
    offers = [place for place, each in enumerate(grid.season.offers) if reaches_eggs(each.product)]
    for history in grid.histories:
        known = {each.day for each in history if reaches_eggs(each.product)}
        yield from _covers(grid, Family.EGGS, offers, known, grid.season.egg_reach_days)


def reach_rows(grid: Grid) -> Iterator[Row]:
    """Yield, where weeks may be left out: a visit in every stretch, and one to begin with."""
    reach = grid.season.reach_of_visits()
    if not grid.season.wishes.fewest_visits or reach is None:
        return
    for history in grid.histories:
        known = {each.day for each in history}
        yield from _covers(grid, Family.VISITS, list(range(grid.width)), known, reach)
        if (place := _first_free(grid)) is not None and not _is_reached(grid, place, known, reach):
            yield Row(Family.VISITS, grid.week_columns(place), lower=1)


def _first_free(grid: Grid) -> int | None:
    pins = [grid.season.pin_of(week) for week in grid.weeks]
    free = [at for at, pin in enumerate(pins) if pin is None or pin.kind is not PinKind.SKIPPED]
    return free[0] if free else None


def _is_reached(grid: Grid, place: int, known: set[date], reach: int) -> bool:
    day = grid.days[place]
    return any(day - timedelta(days=reach) <= each <= day for each in known)


def _covers(
    grid: Grid, family: Family, offers: list[int], known: set[date], reach_days: int
) -> Iterator[Row]:
    first, last = grid.season.days[0], grid.season.days[-1]
    for run in stretches(grid.days, known, reach_days, first, last):
        yield Row(family, grid.columns(run, offers), lower=1)

"""A composed plan: its weeks, what it costs and risks, and what the checks say of the whole."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from treatments.rules.composing.candidates import Candidate
from treatments.rules.composing.eggs import check_eggs
from treatments.rules.composing.seasons import Offer, Pin, Season
from treatments.rules.composing.store_rows import shelves_of, to_buy
from treatments.rules.composing.weighing import (
    cost_is_known,
    costs_weighed,
    product_cost,
    risk_of,
    surcharge,
    weights_of,
)
from treatments.rules.facts import Applied, LotFacts, PlannedApplication
from treatments.rules.findings import Finding
from treatments.rules.resistance import group_counts
from treatments.rules.rotation_checks import check_rotation, in_order
from treatments.rules.stock import check_stock


@dataclass(frozen=True, slots=True)
class PlanWeek:
    """A week of a plan: an offer and its application, or neither where nobody goes.

    pin: how the week was fixed; a done week has its application there
    cost: dollars of product from the store, without what buying adds
    """

    week: int
    day: date
    offer: Offer | None = None
    application: PlannedApplication | None = None
    pin: Pin | None = None
    cost: Decimal = Decimal(0)
    risk: Decimal = Decimal(0)
    warnings: int = 0


@dataclass(frozen=True, slots=True)
class Plan:
    """One way to treat a season, proven to be the best but for the plans before it.

    objective: what it counts for as the wishes weigh it, in dollars; less is better
    cost: dollars, of visits and products, what must be bought included
    cost_unknown: products without a known price or amount, which `cost` leaves out
    risk: to beneficials, in points
    groups: uses of each mode of action in this season
    to_buy: what the store lacks of a product, in its unit
    findings: of all checks over the whole; none refuses
    """

    weeks: tuple[PlanWeek, ...]
    objective: Decimal
    cost: Decimal
    cost_unknown: tuple[str, ...]
    risk: Decimal
    groups: Mapping[str, int]
    visits: int
    to_buy: Mapping[str, Decimal]
    findings: tuple[Finding, ...]

    def codes(self) -> tuple[str, ...]:
        """Return the codes of its offers week by week, empty where nothing is planned."""
        return tuple(week.offer.code if week.offer else "" for week in self.weeks)

    def applications(self) -> list[PlannedApplication]:
        """Return what is still to be applied."""
        return [week.application for week in self.weeks if week.application]


def plan_of(season: Season, chosen: Sequence[Candidate]) -> Plan:
    """Return the plan that some candidates make, one a week."""
    taken = {each.week: each for each in chosen}
    weeks = tuple(
        _week(season, number, day, taken.get(number)) for number, day in enumerate(season.days, 1)
    )
    applications = [each.application for each in chosen]
    buying = _to_buy(season, chosen)
    cost = _cost(season, chosen, buying)
    return Plan(
        weeks=weeks,
        objective=objective_of(season, chosen),
        cost=cost,
        cost_unknown=_names(each.offer for each in chosen if not cost_is_known(each.offer)),
        risk=sum((risk_of(each.offer) for each in chosen), Decimal(0)),
        groups=_groups(season, applications),
        visits=len(chosen) + len(season.done()),
        to_buy={name: amount for name, amount in buying.items() if amount},
        findings=tuple(findings_of(season, applications)),
    )


def _week(season: Season, number: int, day: date, chosen: Candidate | None) -> PlanWeek:
    week = PlanWeek(number, day, pin=season.pin_of(number))
    if chosen is None:
        return week
    return replace(
        week,
        offer=chosen.offer,
        application=chosen.application,
        cost=product_cost(chosen.offer),
        risk=risk_of(chosen.offer),
        warnings=chosen.warnings,
    )


def _names(offers: Iterable[Offer]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(offer.product.name for offer in offers))


def _to_buy(season: Season, chosen: Sequence[Candidate]) -> dict[str, Decimal]:
    used: dict[str, list[tuple[date, Decimal]]] = {}
    for each in chosen:
        amount = each.offer.amount or Decimal(0)
        used.setdefault(each.offer.product.name, []).append((each.application.day, amount))
    shelves = {shelf.first.product.name: shelf for shelf in shelves_of(season.offers)}
    return {name: to_buy(shelves[name], amounts) for name, amounts in used.items()}


def _surcharges(season: Season, buying: Mapping[str, Decimal]) -> Decimal:
    offers = {offer.product.name: offer for offer in season.offers}
    return sum((surcharge(offers[name]) * amount for name, amount in buying.items()), Decimal(0))


def _cost(season: Season, chosen: Sequence[Candidate], buying: Mapping[str, Decimal]) -> Decimal:
    products = sum((product_cost(each.offer) for each in chosen), Decimal(0))
    return products + _surcharges(season, buying) + season.visit_cost * len(chosen)


def objective_of(season: Season, chosen: Sequence[Candidate]) -> Decimal:
    """Return what some candidates count for together, as the wishes weigh it, in dollars."""
    weights, buying = weights_of(season.wishes), _to_buy(season, chosen)
    weighed = dict(zip((offer.code for offer in season.offers), costs_weighed(season), strict=True))
    total = weights.cost * _surcharges(season, buying)
    for each in chosen:
        total += weights.cost * (weighed[each.offer.code] + season.visit_cost)
        total += weights.risk * risk_of(each.offer) + weights.visit
        total += weights.warning * each.warnings
    return total


def _groups(season: Season, applications: Sequence[PlannedApplication]) -> dict[str, int]:
    applied: list[Applied] = [*season.done(), *applications]
    groups: dict[str, int] = {}
    for year in {each.day.year for each in applied}:
        for group, uses in group_counts(applied, year).items():
            groups[group] = groups.get(group, 0) + uses
    return {group: uses for group, uses in groups.items() if uses}


def findings_of(season: Season, applications: Sequence[PlannedApplication]) -> list[Finding]:
    """Return what all checks say of some applications in a season, each finding once."""
    found = [
        finding
        for treated in season.plantings
        for finding in check_rotation(
            applications,
            planting=treated.planting,
            history=season.history_of(treated),
            certificates=season.certificates,
            generation_days=season.generation_days,
        )
    ]
    bounded = {offer.product.name for offer in season.offers if offer.lots is not None}
    stored = [each for each in applications if each.product.name in bounded]
    found += check_stock(stored, lots_of(season)) + check_eggs(season, applications)
    return in_order({repr(finding): finding for finding in found}.values())


def lots_of(season: Season) -> list[LotFacts]:
    """Return the lots behind all offers, each once."""
    return list(dict.fromkeys(lot for offer in season.offers for lot in offer.lots or ()))

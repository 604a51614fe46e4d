"""What a visit takes: spray, product, signs and minutes."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import ROUND_UP, Decimal
from functools import cache
from math import ceil

from clients.loaded import all_of
from clients.models import Planting
from services.mixing import (
    Finder,
    Mixing,
    Tank,
    mixing_in_one_tank,
    mixing_with,
    needs_calibration,
    sprayer_for,
    sprayers_fitting,
)
from services.models import Crew, Visit
from services.rules.loading import ProductNeed, StopNeeds
from treatments.gathering import treated_area_of
from treatments.mixing import SharedMix
from treatments.models import RotationWeek
from treatments.rulebook import posting_at
from treatments.rules.findings import Finding, Refused, Severity

THOUSANDTH = Decimal("0.001")

RINSES = 3  # between two mixes [PURDUE-RINSE]
RINSE_SHARE = Decimal("0.1")  # of the tank, for each rinse [PURDUE-RINSE]

# Minutes at a stop; all of them common practice.
SETTING_UP_MINUTES = 10  # walk the ground, measure the wind, dress
MIXING_MINUTES = 10  # measure, fill, agitate
CLOSING_MINUTES = 10  # clean up, post, write down
RINSE_MINUTES = 10  # between two mixes: three rinses of the sprayer
MINUTES_PER_1000_SQ_FT = {
    RotationWeek.Step.SPRAY: 6,
    RotationWeek.Step.WASH: 8,
    RotationWeek.Step.CLEAN: 30,
    RotationWeek.Step.RELEASE: 5,
    RotationWeek.Step.WATCH: 5,
}


@dataclass(frozen=True, slots=True)
class Takes:
    """What a visit takes from the truck and of the day; without amounts `problem` says why.

    refusals: what forbids the mix, whichever of the crews makes it
    mix: the products that share the tank, empty where nothing is sprayed
    rinse_gallons: what a rinse of the sprayer takes where the next stop has another mix
    """

    gallons: Decimal = Decimal(0)
    products: tuple[ProductNeed, ...] = ()
    minutes: int = 0
    signs: int = 0
    protective_equipment: frozenset[str] = frozenset()
    problem: Refused | None = None
    refusals: tuple[Finding, ...] = ()
    mix: str = ""
    rinse_gallons: Decimal = Decimal(0)

    def as_stop(self, key: str) -> StopNeeds:
        """Return the same as the rules of loading need it."""
        return StopNeeds(
            key=key,
            products=self.products,
            water_gallons=self.gallons,
            protective_equipment=self.protective_equipment,
            signs=self.signs,
        )


def takes_by_visit(
    visits: Iterable[Visit], crews: Sequence[Crew], today: date, day: date | None = None
) -> dict[int, Takes]:
    """Return what each visit takes, by its id; a late one is reckoned for today.

    day: on which the visits are to be made, or None for the planned day of each
    """
    find = cache(sprayers_fitting)  # the same for many of the visits
    return {
        each.pk: takes_of(each, crews, max(day or each.planned, today), find) for each in visits
    }


def takes_of(
    visit: Visit, crews: Iterable[Crew], day: date, find: Finder = sprayers_fitting
) -> Takes:
    """Return what a visit takes on a day whichever of the crews makes it: the most of each.

    With one crew it is what that crew's sheet tells to measure, never less.  Where no crew has a
    sprayer for it, the spray is reckoned as if in one tank.

    find: finds the sprayers of a crew that fit, as `sprayers_fitting` does
    """
    week = visit.rotation_week
    minutes = minutes_of(week.step, list(all_of(visit.course, "plantings")))
    if week.product is None:
        return Takes(minutes=minutes)
    mixings = _mixings(visit, crews, day, find)
    mixes = [mixing.mix for mixing in mixings if mixing.mix is not None]
    if not mixes:
        return Takes(minutes=minutes, problem=mixings[0].problem)
    products = tuple(_products(week, mixes))
    return Takes(
        gallons=_up(max(mix.spray_gallons() for mix in mixes)),
        products=products,
        minutes=minutes,
        signs=_signs(visit),
        protective_equipment=frozenset(week.product.protective_equipment),
        refusals=_refusals(mixes),
        mix=" + ".join(sorted(need.product for need in products)),
        rinse_gallons=_rinse_gallons(mixings),
    )


def minutes_of(step: str, plantings: Iterable[Planting]) -> int:
    """Return the minutes that a step takes on plantings."""
    area = sum((treated_area_of(planting) for planting in plantings), Decimal(0))
    mixing = MIXING_MINUTES if step == RotationWeek.Step.SPRAY else 0
    work = ceil(area / 1000 * MINUTES_PER_1000_SQ_FT[RotationWeek.Step(step)])
    return SETTING_UP_MINUTES + mixing + work + CLOSING_MINUTES


def _mixings(visit: Visit, crews: Iterable[Crew], day: date, find: Finder) -> list[Mixing]:
    """Return how a visit would be mixed in the tanks that could go; at least one answer.

    Crews whose tanks are as large mix the same where the label tells the spray.
    """
    found = [sprayer_for(visit, crew, day, find) for crew in crews]
    tanks = [(sprayer, calibration) for sprayer, calibration in found if sprayer is not None]
    by_hand = len(tanks) > 1 and needs_calibration(visit)
    ways: dict[tuple, Tank] = {}
    for sprayer, calibration in tanks:
        ways.setdefault((sprayer.tank_gallons, by_hand and calibration), (sprayer, calibration))
    mixings = [mixing_with(visit, *way, day) for way in ways.values()]
    return mixings or [mixing_in_one_tank(visit)]


def _rinse_gallons(mixings: Iterable[Mixing]) -> Decimal:
    tanks = [mixing.sprayer.tank_gallons for mixing in mixings if mixing.sprayer is not None]
    return RINSES * RINSE_SHARE * max(tanks, default=Decimal(0))


def _products(week: RotationWeek, mixes: Sequence[SharedMix]) -> Iterable[ProductNeed]:
    product, adjuvant = week.sprayed_product(), week.adjuvant
    most = _up(max(mix.product.amount for mix in mixes))
    yield ProductNeed(product.name, most, product.stock_unit)
    beside = [mix.adjuvant.amount for mix in mixes if mix.adjuvant is not None]
    if adjuvant is not None and beside:
        yield ProductNeed(adjuvant.name, _up(max(beside)), adjuvant.stock_unit, True)


def _refusals(mixes: Iterable[SharedMix]) -> tuple[Finding, ...]:
    """Return what forbids the first of the mixes; nothing where one of them may be mixed."""
    told = [
        tuple(each for each in mix.findings() if each.severity is Severity.REFUSAL) for mix in mixes
    ]
    return told[0] if all(told) else ()


def _signs(visit: Visit) -> int:
    place = visit.course.property
    site = place.production_site
    return 1 if posting_at(place.jurisdiction, visit.planned, production_site=site) else 0


def _up(amount: Decimal) -> Decimal:
    return amount.quantize(THOUSANDTH, rounding=ROUND_UP)

"""What a visit takes: spray, product, signs and minutes."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import ROUND_UP, Decimal
from math import ceil

from clients.models import Planting
from services.models import Visit
from services.rules.loading import ProductNeed, StopNeeds
from treatments.gathering import treated_area_of
from treatments.models import Product, RotationWeek
from treatments.rules.mixing import CalibrationMissing, product_for_batch
from treatments.rules.records import posting_for
from treatments.rules.units import Basis, Unit, UnitMismatch

THOUSANDTH = Decimal("0.001")

# Minutes at a stop; all of them common practice.
SETTING_UP_MINUTES = 10  # walk the ground, measure the wind, dress
MIXING_MINUTES = 10  # measure, fill, agitate
CLOSING_MINUTES = 10  # rinse, post, write down
MINUTES_PER_1000_SQ_FT = {
    RotationWeek.Step.SPRAY: 6,
    RotationWeek.Step.WASH: 8,
    RotationWeek.Step.CLEAN: 30,
    RotationWeek.Step.RELEASE: 5,
    RotationWeek.Step.WATCH: 5,
}


@dataclass(frozen=True, slots=True)
class Takes:
    """What a visit takes from the truck and of the day; is_known says whether amounts are known."""

    gallons: Decimal = Decimal(0)
    products: tuple[ProductNeed, ...] = ()
    minutes: int = 0
    signs: int = 0
    protective_equipment: frozenset[str] = frozenset()
    is_known: bool = True

    def as_stop(self, key: str) -> StopNeeds:
        """Return the same as the rules of loading need it."""
        return StopNeeds(
            key=key,
            products=self.products,
            water_gallons=self.gallons,
            protective_equipment=self.protective_equipment,
            signs=self.signs,
        )


def takes_of(visit: Visit, output_gal_per_1000_sq_ft: Decimal | None) -> Takes:
    """Return what a visit takes, rounded up so that no truck runs short.

    output_gal_per_1000_sq_ft: of the sprayer that puts out most; the label's gallons go before it
    """
    plantings = list(visit.course.plantings.all())
    minutes = minutes_of(visit.rotation_week.step, plantings)
    week = visit.rotation_week
    if week.product is None:
        return Takes(minutes=minutes)
    place = visit.course.property
    posting = posting_for(place.jurisdiction, production_site=place.production_site)
    pest = visit.course.rotation.pest_id
    batches = [_batch(week, each, pest, output_gal_per_1000_sq_ft) for each in plantings]
    known = [batch for batch in batches if batch is not None]
    gallons = _up(sum((batch[0] for batch in known), Decimal(0)))
    return Takes(
        gallons=gallons,
        products=_products(week, gallons, _up(sum((batch[1] for batch in known), Decimal(0)))),
        minutes=minutes,
        signs=1 if posting else 0,
        protective_equipment=frozenset(week.product.protective_equipment),
        is_known=len(known) == len(batches),
    )


def minutes_of(step: str, plantings: Iterable[Planting]) -> int:
    """Return the minutes that a step takes on plantings."""
    area = sum((treated_area_of(planting) for planting in plantings), Decimal(0))
    mixing = MIXING_MINUTES if step == RotationWeek.Step.SPRAY else 0
    work = ceil(area / 1000 * MINUTES_PER_1000_SQ_FT[RotationWeek.Step(step)])
    return SETTING_UP_MINUTES + mixing + work + CLOSING_MINUTES


def label_gallons(product: Product, pest_id: int, plant_group: str) -> Decimal | None:
    """Return the spray that a label gives for 1,000 sq ft, the most it gives; None without one.

    The rates named for the pest go before those for any.
    """
    rates = [rate for rate in product.rates.all() if rate.plant_group == plant_group]
    named = [rate for rate in rates if rate.pest_id == pest_id]
    told = [rate.gallons_per_1000_sq_ft for rate in named or rates if rate.gallons_per_1000_sq_ft]
    return max(told, default=None)


def _batch(
    week: RotationWeek, planting: Planting, pest_id: int, output: Decimal | None
) -> tuple[Decimal, Decimal] | None:
    """Return gallons of spray and product in the unit of the store, or None where not known."""
    gallons_per_1000 = label_gallons(week.product, pest_id, planting.plant_group) or output
    if gallons_per_1000 is None:
        return None
    area = treated_area_of(planting)
    try:
        used = product_for_batch(
            week.rate,
            Basis(week.basis),
            area_sq_ft=area,
            output_gal_per_1000_sq_ft=gallons_per_1000,
        ).to(Unit(week.product.stock_unit))
    except (CalibrationMissing, UnitMismatch):
        return None
    return area / 1000 * gallons_per_1000, used.amount


def _products(week: RotationWeek, gallons: Decimal, amount: Decimal) -> tuple[ProductNeed, ...]:
    needs = [ProductNeed(week.product.name, amount, week.product.stock_unit)]
    if week.adjuvant is not None and week.adjuvant_rate:
        added = _up(gallons * week.adjuvant_rate)
        needs.append(ProductNeed(week.adjuvant.name, added, week.adjuvant.stock_unit, True))
    return tuple(needs)


def _up(amount: Decimal) -> Decimal:
    return amount.quantize(THOUSANDTH, rounding=ROUND_UP)

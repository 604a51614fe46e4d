"""The mix of a week of a rotation for plantings that are treated together.

Plantings that get the same spray share a tank, so that a stop has one mix and one rest.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Any

from clients.models import Planting
from treatments.gathering import treated_area_of
from treatments.mixing.label import LabelRange, label_range, other_limits
from treatments.models import Calibration, Pest, Product, RotationWeek, Sprayer
from treatments.preparing import RateNotOnLabel, known_output, label_gallons
from treatments.rules.findings import Finding, Refused, gettext_noop
from treatments.rules.mixing import CalibrationMissing, refuse_rate_above_label
from treatments.rules.tanks import Adjuvant, MixPlan, Tank, plan_mix
from treatments.rules.units import Basis, Measure, Unit, as_decimal, exact_convert

JOBS_KEPT = 4096  # jobs planned already; a week has some hundreds
ADJUVANT_BASIS = Basis.FLUID_OUNCES_PER_GALLON
NOBODY_KNOWS = gettext_noop(
    "Neither the label nor a calibration says how much spray 1,000 sq ft take."
)
NO_PLANTING = gettext_noop("No planting is named that could be sprayed.")


class NoPlanting(Refused):
    """There is nothing to spray."""


@dataclass(frozen=True, slots=True)
class PlanAsked:
    """What a plan was reckoned from, so that another program can reckon it again.

    facts: the arguments of `plan_mix`
    outputs: gallons of spray on 1,000 sq ft, by the id of the planting
    """

    facts: Mapping[str, Any]
    outputs: Mapping[int, Decimal]


@dataclass(frozen=True, slots=True)
class SharedMix:
    """What plantings take in a week, tank by tank and in all.

    plans: one for all plantings that may share a tank
    label: the lowest and highest rate that hold for all of them
    gallons: of spray, by the id of the planting
    product, adjuvant: what is measured in all, in the unit of the store
    asked: what each of the plans was reckoned from
    """

    plans: tuple[MixPlan, ...]
    label: LabelRange
    gallons: Mapping[int, Decimal]
    product: Measure
    adjuvant: Measure | None = None
    asked: tuple[PlanAsked, ...] = ()

    def tanks(self) -> list[Tank]:
        """Return the tanks of all plans, in order."""
        return [tank for plan in self.plans for tank in plan.tanks]

    def spray_gallons(self) -> Decimal:
        """Return the finished spray in all."""
        return sum(self.gallons.values(), Decimal(0))

    def water_gallons(self) -> Decimal:
        """Return the water in all tanks."""
        return sum((tank.water_gallons for tank in self.tanks()), Decimal(0))

    def findings(self) -> list[Finding]:
        """Return what is to be said of the mix."""
        return [finding for plan in self.plans for finding in plan.findings]


def share_mix(
    week: RotationWeek,
    plantings: Sequence[Planting],
    *,
    pest: Pest,
    sprayer: Sprayer | None,
    calibration: Calibration | None,
) -> SharedMix:
    """Return how a week's spray is mixed for plantings that are treated together.

    sprayer: None where it is not chosen yet; all goes into one tank then

    The label's own gallons for 1,000 sq ft hold where it gives any, else the calibration, else
    for a strength the newest test with water on the planting.  Of several sites on the label the
    strictest holds, and is never passed.  Raise NothingToMix for a week without a spray,
    NoPlanting, RateNotOnLabel where the label is silent on one of the sites, CalibrationMissing
    where nobody knows the spray, and the rules' own errors where something does not fit.
    """
    label = shared_range(week, plantings, pest)
    refuse_rate_above_label(week.sprayed_rate(), label.highest, Basis(week.basis))
    outputs = outputs_of(week, plantings, pest, calibration)
    if outputs is None:
        raise CalibrationMissing(NOBODY_KNOWS)
    gallons = {each.pk: _spray(each, outputs) for each in plantings}
    asked = tuple(
        _asked(week, batch, label, outputs, gallons, sprayer)
        for batch in _batches(week, plantings, outputs)
    )
    plans = tuple(_planned(**each.facts) for each in asked)
    unit = Unit(week.sprayed_product().stock_unit)
    measured = sum((plan.total_from_store.amount for plan in plans), Decimal(0))
    return SharedMix(
        plans, label, gallons, Measure(measured, unit), _adjuvant_in_all(week, plans), asked
    )


# The same product at the same rate on as much ground in the same tank is one job, planned once.
_planned = lru_cache(JOBS_KEPT)(plan_mix)


def shared_range(week: RotationWeek, plantings: Sequence[Planting], pest: Pest) -> LabelRange:
    """Return what the label allows on all sites of plantings: the strictest of them holds.

    Raise RateNotOnLabel where it gives no rate for one of them on the basis of the week.
    """
    product = week.sprayed_product()
    if not plantings:
        raise NoPlanting(NO_PLANTING)
    told = [label_range(product, site, week.basis, pest) for site in _sites(plantings)]
    return LabelRange(
        lowest=max(each.lowest for each in told),
        highest=min(each.highest for each in told),
        basis=week.basis,
    )


def spray_for_each(
    week: RotationWeek,
    plantings: Sequence[Planting],
    pest: Pest,
    calibration: Calibration | None,
) -> dict[int, Decimal] | None:
    """Return the gallons of spray by the planting's id, or None where one of them is unknown."""
    outputs = outputs_of(week, plantings, pest, calibration)
    if outputs is None:
        return None
    return {planting.pk: _spray(planting, outputs) for planting in plantings}


def outputs_of(
    week: RotationWeek,
    plantings: Iterable[Planting],
    pest: Pest,
    calibration: Calibration | None,
) -> dict[int, Decimal] | None:
    """Return the spray on 1,000 sq ft by the planting's id, or None where one is unknown."""
    product, basis = week.sprayed_product(), Basis(week.basis)
    outputs = {}
    for planting in plantings:
        told = label_gallons(product, planting.plant_group, pest)
        known = known_output(told, calibration, planting, basis)
        if known is None:
            return None
        outputs[planting.pk] = known.gallons_per_1000_sq_ft
    return outputs


def _spray(planting: Planting, outputs: Mapping[int, Decimal]) -> Decimal:
    return treated_area_of(planting) / 1000 * outputs[planting.pk]


def _sites(plantings: Iterable[Planting]) -> list[str]:
    return sorted({planting.plant_group for planting in plantings})


def _batches(
    week: RotationWeek, plantings: Sequence[Planting], outputs: Mapping[int, Decimal]
) -> list[Sequence[Planting]]:
    """Return the plantings that may share a tank; by a dose on the ground, those sprayed alike."""
    if Basis(week.basis).is_concentration:
        return [plantings]
    alike: dict[Decimal, list[Planting]] = defaultdict(list)
    for planting in plantings:
        alike[outputs[planting.pk]].append(planting)
    return list(alike.values())


def _asked(
    week: RotationWeek,
    plantings: Sequence[Planting],
    label: LabelRange,
    outputs: Mapping[int, Decimal],
    gallons: Mapping[int, Decimal],
    sprayer: Sprayer | None,
) -> PlanAsked:
    product = week.sprayed_product()
    spray = sum((gallons[planting.pk] for planting in plantings), Decimal(0))
    facts = {
        "rate": week.sprayed_rate(),
        "basis": Basis(week.basis),
        "maximum_rate": label.highest,
        "minimum_rate": label.lowest,
        "tank_gallons": sprayer.tank_gallons if sprayer else spray,
        "spray_gallons": spray,
        "treated_area_sq_ft": sum(map(treated_area_of, plantings), Decimal(0)),
        "store_unit": Unit(product.stock_unit),
        "product_name": product.name,
        "limits": other_limits(product),
        "adjuvants": _adjuvants(week, _sites(plantings)),
    }
    return PlanAsked(facts, {planting.pk: outputs[planting.pk] for planting in plantings})


def _adjuvants(week: RotationWeek, sites: Iterable[str]) -> tuple[Adjuvant, ...]:
    adjuvant = week.adjuvant
    if adjuvant is None or not week.adjuvant_rate:
        return ()
    told = [most for site in sites if (most := _most_of(adjuvant, site)) is not None]
    most = min(told, default=None)
    return (Adjuvant(adjuvant.name, week.adjuvant_rate, ADJUVANT_BASIS, most),)


def _most_of(adjuvant: Product, site: str) -> Decimal | None:
    try:
        return label_range(adjuvant, site, ADJUVANT_BASIS, None).highest
    except RateNotOnLabel:
        return None  # labels of adjuvants seldom name a site


def _adjuvant_in_all(week: RotationWeek, plans: Iterable[MixPlan]) -> Measure | None:
    measured = [
        portion.measured for plan in plans for tank in plan.tanks for portion in tank.adjuvants
    ]
    if week.adjuvant is None or not measured:
        return None
    unit = Unit(week.adjuvant.stock_unit)
    total = sum((exact_convert(each.amount, each.unit, unit) for each in measured), Fraction(0))
    return Measure(as_decimal(total), unit)

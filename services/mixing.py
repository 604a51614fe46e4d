"""How the spray of a visit is mixed: which sprayer, how much, and tank by tank.

Load, visit sheet and the page on the spot all take their amounts from here, so that the truck
carries what the sheet tells to measure.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.utils.translation import gettext as _

from clients.loaded import all_of
from services.crew_certificates import certificates_of, covering, may_spray_with
from services.models import Crew, Visit
from treatments.gathering import treated_area_of
from treatments.mixing import NoPlanting, SharedMix, outputs_of, share_mix, spray_for_each
from treatments.models import Calibration, Product, Sprayer
from treatments.preparing import RateNotOnLabel
from treatments.rules.certificates import has_limits
from treatments.rules.findings import Refused, gettext_noop
from treatments.rules.mixing import CalibrationMissing, RateAboveLabel
from treatments.rules.tanks import TankUnusable
from treatments.rules.units import AmountUnusable, UnitMismatch

NO_SPRAYER = gettext_noop("No sprayer that reaches the planting is on the truck.")
NONE_STIRS = gettext_noop(
    "The label asks for a spray that is kept stirred, and no sprayer on the truck that reaches the "
    "planting stirs."
)
TOO_LARGE = gettext_noop(
    "The crew holds only a limited certificate there, and no sprayer on the truck that reaches the "
    "planting is as small as it allows."
)
NO_CREW = gettext_noop("No crew goes yet, so it is not known which sprayer takes it.")
NOT_CALIBRATED = gettext_noop("%(sprayer)s has no calibration that holds on %(day)s.")
Tank = tuple[Sprayer, Calibration | None]  # a sprayer with its newest calibration of a day
Finder = Callable[[Product, str, Decimal, Crew | None, date], list[Tank]]
UNMIXABLE = (NoPlanting, RateNotOnLabel, RateAboveLabel, TankUnusable, AmountUnusable, UnitMismatch)


class SprayerMissing(Refused):
    """No crew goes yet, or no sprayer on its truck reaches the planting or stirs as it must."""


@dataclass(frozen=True, slots=True)
class Mixing:
    """The mix of a visit with the sprayer it is for; without a mix `problem` says why."""

    mix: SharedMix | None = None
    sprayer: Sprayer | None = None
    calibration: Calibration | None = None
    problem: Refused | None = None

    def why_not(self) -> str:
        """Return why there is no mix, in the language that is spoken now."""
        return self.problem.say(_) if self.problem else ""


def mixing_of(visit: Visit, crew: Crew | None, day: date) -> Mixing:
    """Return how the spray of a visit is mixed by a crew on a day, by label and calibration."""
    sprayer, calibration = sprayer_for(visit, crew, day)
    if sprayer is None:
        return Mixing(problem=SprayerMissing(_why_no_sprayer(visit, crew, day)))
    return mixing_with(visit, sprayer, calibration, day)


def mixing_with(
    visit: Visit, sprayer: Sprayer, calibration: Calibration | None, day: date
) -> Mixing:
    """Return how the spray of a visit is mixed with a sprayer on a day."""
    try:
        return Mixing(mix_with(visit, sprayer, calibration), sprayer, calibration)
    except CalibrationMissing:
        facts = {"sprayer": sprayer.name, "day": day.isoformat()}
        return Mixing(sprayer=sprayer, problem=CalibrationMissing(NOT_CALIBRATED, **facts))
    except UNMIXABLE as reason:
        return Mixing(sprayer=sprayer, calibration=calibration, problem=reason)


def mixing_in_one_tank(visit: Visit) -> Mixing:
    """Return what the spray of a visit comes to before a sprayer is known, by the label alone."""
    try:
        return Mixing(mix_with(visit, None, None))
    except (CalibrationMissing, *UNMIXABLE) as reason:
        return Mixing(problem=reason)


def mix_with(visit: Visit, sprayer: Sprayer | None, calibration: Calibration | None) -> SharedMix:
    """Return the mix for the plantings of a visit; raise where there is none, as `share_mix`."""
    course = visit.course
    return share_mix(
        visit.rotation_week,
        list(all_of(course, "plantings")),
        pest=course.rotation.pest,
        sprayer=sprayer,
        calibration=calibration,
    )


def needs_calibration(visit: Visit) -> bool:
    """Say whether only a calibration tells the spray of a visit: the label does not."""
    course = visit.course
    plantings = all_of(course, "plantings")
    return outputs_of(visit.rotation_week, plantings, course.rotation.pest, None) is None


def spray_gallons_of(visit: Visit, calibration: Calibration | None) -> Decimal | None:
    """Return the finished spray of a visit, or None where nobody knows it."""
    course = visit.course
    spray = spray_for_each(
        visit.rotation_week, list(all_of(course, "plantings")), course.rotation.pest, calibration
    )
    return None if spray is None else sum(spray.values(), Decimal(0))


def area_of(visit: Visit) -> Decimal:
    """Return what is treated at a visit, in square feet."""
    return sum((treated_area_of(each) for each in all_of(visit.course, "plantings")), Decimal(0))


def sprayers_fitting(
    product: Product, place: str, height: Decimal, crew: Crew | None, day: date
) -> list[Tank]:
    """Return the sprayers of a crew's truck that a product may go out of, each as calibrated.

    place: the jurisdiction; height: of the tallest planting, in feet

    They reach the planting, stir where the label asks, and the crew's certificates allow them.
    """
    stirs = product.needs_agitation
    return [
        (each, calibration_on(each, crew, day))
        for each in _reaching(height, crew)
        if (each.has_agitation or not stirs) and _is_allowed(each, product, place, crew, day)
    ]


def sprayer_for(
    visit: Visit,
    crew: Crew | None,
    day: date,
    find: Finder = sprayers_fitting,
) -> Tank | tuple[None, None]:
    """Return the sprayer of a crew's truck for a visit, and its newest calibration of the day.

    It must reach the tallest planting and stir where the label asks; a calibrated one goes first,
    then the one with the fewest fillings, then the smallest tank, which leaves the least to clean.

    find: finds the sprayers that fit, as `sprayers_fitting` does
    """
    product, place = visit.rotation_week.sprayed_product(), visit.course.property.jurisdiction
    fitting = find(product, place, _height_of(visit), crew, day)
    if len(fitting) == 1:
        return fitting[0]
    return min(fitting, key=lambda tank: _order(visit, *tank), default=(None, None))


def _why_no_sprayer(visit: Visit, crew: Crew | None, day: date) -> str:
    if crew is None:
        return NO_CREW
    long_enough = reaching(visit, crew)
    if not long_enough:
        return NO_SPRAYER
    product, place = visit.rotation_week.sprayed_product(), visit.course.property.jurisdiction
    is_allowed = any(_is_allowed(each, product, place, crew, day) for each in long_enough)
    return NONE_STIRS if is_allowed else TOO_LARGE


def _is_allowed(
    sprayer: Sprayer, product: Product, place: str, crew: Crew | None, day: date
) -> bool:
    """Say whether the crew's certificates allow a sprayer; who holds none is told so elsewhere."""
    if crew is None or not product.certificate_category or not has_limits(place):
        return True
    held, category = certificates_of(crew, day), covering(product, place)
    return category not in held or may_spray_with(sprayer, category, held)


def reaching(visit: Visit, crew: Crew | None) -> list[Sprayer]:
    """Return the sprayers of a crew's truck that reach the tallest planting of a visit."""
    return _reaching(_height_of(visit), crew)


def _reaching(height: Decimal, crew: Crew | None) -> list[Sprayer]:
    return [each for each in sprayers_of(crew) if each.reach_ft >= height]


def _height_of(visit: Visit) -> Decimal:
    """Return how tall the tallest planting of a visit is, in feet."""
    return max((each.height_ft for each in all_of(visit.course, "plantings")), default=Decimal(0))


def sprayers_of(crew: Crew | None) -> list[Sprayer]:
    """Return the sprayers in use on the truck of a crew; what was prefetched is read."""
    truck = getattr(crew, "truck", None)
    return [each for each in all_of(truck, "sprayers") if not each.retired] if truck else []


def calibration_on(sprayer: Sprayer, crew: Crew | None, day: date) -> Calibration | None:
    """Return the newest calibration of a sprayer that holds on a day, in the hands of the crew.

    One in nobody's hands serves too; what was prefetched is read.
    """
    people = {person.user_id for person in all_of(crew, "technicians")} if crew else set()
    held = [
        each
        for each in all_of(sprayer, "calibrations")
        if each.calibrated_on <= day <= each.expires_on
        and (each.person is None or each.person.user_id in people)
    ]
    return max(held, key=lambda each: (each.calibrated_on, each.pk), default=None)


def is_any_calibrated(crews: Iterable[Crew], day: date) -> bool:
    """Say whether any crew has a sprayer on its truck that is calibrated in its hands."""
    return any(
        calibration_on(sprayer, crew, day) is not None
        for crew in crews
        for sprayer in sprayers_of(crew)
    )


def _order(
    visit: Visit, sprayer: Sprayer, calibration: Calibration | None
) -> tuple[bool, Decimal, Decimal, str]:
    spray = spray_gallons_of(visit, calibration) or Decimal(0)
    fillings = -(-spray // sprayer.tank_gallons)
    return calibration is None, fillings, sprayer.tank_gallons, sprayer.name

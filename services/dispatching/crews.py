"""The crews that work on a day, as the rules of routing need them."""

from collections.abc import Collection, Iterable
from datetime import date, datetime
from decimal import Decimal
from math import ceil

from django.db.models import Prefetch

from clients.loaded import all_of
from services.crew_certificates import (
    certificate_needed,
    certificates_of,
    covering,
    may_spray_with,
)
from services.dispatching.clock import DayClock
from services.mixing import calibration_on, needs_calibration, sprayers_of
from services.models import Crew, Technician, Visit
from services.rules.local_time import instant_of
from services.rules.plans import CrewShift, certificate, equipment
from services.rules.travel import Point
from treatments.models import Calibration, Sprayer
from treatments.rules.certificates import has_limits

LOADED_WITH_CREWS = (
    Prefetch("truck__sprayers__calibrations", Calibration.objects.select_related("person")),
    Prefetch("technicians", Technician.objects.select_related("user__applicator__supervisor")),
    "technicians__user__applicator__certificates",
    "technicians__user__applicator__supervisor__certificates",
)


def crews_at_work() -> list[Crew]:
    """Return the crews with trucks, calibrations and certificates, in a fixed number of queries."""
    crews = Crew.objects.filter(retired=False).select_related("yard", "truck")
    return list(crews.prefetch_related(*LOADED_WITH_CREWS))


def crews_on(day: date) -> list[Crew]:
    """Return the crews that work on a day, with trucks and certificates."""
    return [crew for crew in crews_at_work() if crew.works_on(day)]


def shift_of(
    crew: Crew, clock: DayClock, needs: Iterable[str], not_before: datetime | None = None
) -> CrewShift | None:
    """Return a crew's shift of the day, or None where it is over; `needs` are those of all stops.

    not_before: the moment before which a crew that is still in the yard cannot leave
    """
    zone, truck = crew.yard.time_zone, getattr(crew, "truck", None)
    starts, ends = (
        clock.seconds(instant_of(clock.day, hour, zone, first=True))
        for hour in (crew.shift_starts, crew.shift_ends)
    )
    if not_before is not None:
        starts = max(starts, clock.seconds(not_before))
    if starts > ends:
        return None
    return CrewShift(
        key=key_of_crew(crew),
        yard=Point(float(crew.yard.latitude), float(crew.yard.longitude)),
        starts=starts,
        ends=ends,
        has=has_of(crew, needs, clock.day),
        tank_gallons=truck.water_gallons if truck else Decimal(0),
        lunch_seconds=crew.lunch_minutes * 60,
        name=crew.name,
    )


def has_of(crew: Crew, needs: Iterable[str], day: date) -> frozenset[str]:
    """Return what of some needs of visits a crew has on a day."""
    return frozenset(need for need in needs if _has(crew, need, day))


def key_of_crew(crew: Crew) -> str:
    """Return the key of a crew in a plan, which sorts as its id does."""
    return f"{crew.pk:09}"


def crew_itself(crew_id: int) -> str:
    """Return the need of one crew and no other, for what it has begun."""
    return equipment(f"crew {crew_id}")


def needs_of(visit: Visit) -> frozenset[str]:
    """Return the certificate and the sprayer that a visit needs.

    The sprayer is calibrated in the hands of the crew where nothing else tells the spray.
    """
    product = visit.rotation_week.product
    if product is None:
        return frozenset()
    place, plantings = visit.course.property.jurisdiction, all_of(visit.course, "plantings")
    height = max((ceil(each.height_ft) for each in plantings), default=0)
    name = sprayer_name(height, product.needs_agitation)
    if needs_calibration(visit):
        name = calibrated(name)
    if product.certificate_category and has_limits(place):
        name = allowed_by(name, covering(product, place))
    needs = {equipment(name)}
    if product.certificate_category:
        groups = {each.plant_group for each in plantings}
        needs.add(certificate(certificate_needed(product, place, groups)))
    return frozenset(needs)


def sprayer_name(height_ft: int, with_agitation: bool) -> str:
    """Return how a sprayer is named that reaches so high."""
    kind = "sprayer with agitation" if with_agitation else "sprayer"
    return f"{kind} to {height_ft} ft"


def calibrated(name: str) -> str:
    """Return how the same sprayer is named when it is calibrated in the hands of its crew."""
    return f"calibrated {name}"


def allowed_by(name: str, category: str) -> str:
    """Return how the same sprayer is named when the crew's certificates allow it."""
    return f"{name} under {category}"


def _has(crew: Crew, need: str, day: date) -> bool:
    if need == crew_itself(crew.pk):
        return True
    held = certificates_of(crew, day)
    return need in {certificate(name) for name in held} or any(
        need in {equipment(name) for name in _names(sprayer, crew, day, held)}
        for sprayer in sprayers_of(crew)
    )


def _names(sprayer: Sprayer, crew: Crew, day: date, held: Collection[str]) -> Iterable[str]:
    """Yield each name by which a visit may ask for a sprayer on the truck of a crew."""
    is_calibrated = calibration_on(sprayer, crew, day) is not None
    allowing = [name for name in held if may_spray_with(sprayer, name, held)]
    for height in range(sprayer.reach_ft + 1):
        for agitation in {False, sprayer.has_agitation}:
            name = sprayer_name(height, agitation)
            for known in {name, calibrated(name)} if is_calibrated else {name}:
                yield known
                yield from (allowed_by(known, category) for category in allowing)

"""The crews that work on a day, as the rules of routing need them."""

from collections.abc import Collection, Iterable
from datetime import date, datetime
from decimal import Decimal
from math import ceil

from django.db.models import Prefetch

from services.dispatching.clock import DayClock
from services.mixing import calibration_on, needs_calibration, sprayers_of
from services.models import Crew, Visit
from services.rules.local_time import instant_of
from services.rules.plans import CrewShift, certificate, equipment
from services.rules.travel import Point
from treatments.models import Applicator, Calibration, Product, Sprayer
from treatments.rules.certificates import limited_allows

PREFETCHED = (
    Prefetch("truck__sprayers__calibrations", Calibration.objects.select_related("person")),
    "technicians__user__applicator__certificates",
    "technicians__user__applicator__supervisor__certificates",
)

# What else a certificate must be, after its category and place.
FULL, ON_THE_SPOT = " in full", " on the spot"


def crews_at_work() -> list[Crew]:
    """Return the crews with trucks, calibrations and certificates, in a fixed number of queries."""
    crews = Crew.objects.filter(retired=False).select_related("yard", "truck")
    return list(crews.prefetch_related(*PREFETCHED))


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
        has=frozenset(need for need in needs if _has(crew, need, clock.day)),
        tank_gallons=truck.water_gallons if truck else Decimal(0),
        lunch_seconds=crew.lunch_minutes * 60,
        name=crew.name,
    )


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
    height = max((ceil(each.height_ft) for each in visit.course.plantings.all()), default=0)
    name = sprayer_name(height, product.needs_agitation)
    needs = {equipment(calibrated(name) if needs_calibration(visit) else name)}
    if product.certificate_category:
        groups = {each.plant_group for each in visit.course.plantings.all()}
        needs.add(certificate(_category(product, visit.course.property.jurisdiction, groups)))
    return frozenset(needs)


def sprayer_name(height_ft: int, with_agitation: bool) -> str:
    """Return how a sprayer is named that reaches so high."""
    kind = "sprayer with agitation" if with_agitation else "sprayer"
    return f"{kind} to {height_ft} ft"


def calibrated(name: str) -> str:
    """Return how the same sprayer is named when it is calibrated in the hands of its crew."""
    return f"calibrated {name}"


def _category(product: Product, jurisdiction: str, plant_groups: Collection[str]) -> str:
    """Return category and place, and what else the certificate must be.

    Of a restricted-use product the holder must be on the crew; beyond the limits of the place's
    limited certificates it must be a full one.
    """
    where = f"{product.certificate_category.casefold()}@{jurisdiction}"
    if not limited_allows(jurisdiction, product.signal_word, plant_groups):
        where += FULL
    return where + ON_THE_SPOT if product.restricted_use else where


def _has(crew: Crew, need: str, day: date) -> bool:
    if need == crew_itself(crew.pk):
        return True
    return need in _certificates(crew, day) or any(
        need in {equipment(name) for name in _names(sprayer, crew, day)}
        for sprayer in sprayers_of(crew)
    )


def _names(sprayer: Sprayer, crew: Crew, day: date) -> Iterable[str]:
    """Yield each name by which a visit may ask for a sprayer on the truck of a crew."""
    is_calibrated = calibration_on(sprayer, crew, day) is not None
    for height in range(sprayer.reach_ft + 1):
        for agitation in {False, sprayer.has_agitation}:
            name = sprayer_name(height, agitation)
            yield name
            if is_calibrated:
                yield calibrated(name)


def _certificates(crew: Crew, day: date) -> set[str]:
    """Return the categories a crew covers: those of its people, and those of their supervisors.

    A supervisor answers only for who was trained, as far as it is in the book.
    """
    people = _applicators(crew)
    over = [person.supervisor for person in people if person.supervisor and _trained(person, day)]
    found = {name for person in [*people, *over] for name in _categories(person, day)}
    on_the_spot = {
        f"{name}{ON_THE_SPOT}"
        for person in people
        for name in _categories(person, day, restricted_use=True)
    }
    return {certificate(name) for name in found | on_the_spot}


def _trained(person: Applicator, day: date) -> bool:
    until = person.trained_until()
    return person.trained_on is not None and until is not None and person.trained_on <= day <= until


def _categories(person: Applicator, day: date, *, restricted_use: bool = False) -> set[str]:
    return {
        f"{category.casefold()}@{held.jurisdiction}{kind}"
        for held in person.certificates.all()
        if held.holds_on(day)
        and not held.own_property_only
        and not (restricted_use and held.bars_restricted_use)
        for category in held.categories
        for kind in ({""} if held.is_limited else {"", FULL})
    }


def _applicators(crew: Crew) -> list[Applicator]:
    people = [person.user for person in crew.technicians.all() if person.user.is_active]
    return [user.applicator for user in people if hasattr(user, "applicator")]

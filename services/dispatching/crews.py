"""The crews that work on a day, as the rules of routing need them."""

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal
from math import ceil

from services.dispatching.clock import DayClock
from services.models import Crew, Visit
from services.rules.local_time import instant_of
from services.rules.plans import CrewShift, certificate, equipment
from services.rules.travel import Point
from treatments.models import Applicator, Certificate, Product, Sprayer

PREFETCHED = (
    "truck__sprayers",
    "technicians__user__applicator__certificates",
    "technicians__user__applicator__supervisor__certificates",
)


def crews_on(day: date) -> list[Crew]:
    """Return the crews that work on a day, with trucks and certificates."""
    crews = Crew.objects.filter(retired=False).select_related("yard", "truck")
    return [crew for crew in crews.prefetch_related(*PREFETCHED) if crew.works_on(day)]


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
    """Return the certificate and the sprayer that a visit needs."""
    product = visit.rotation_week.product
    if product is None:
        return frozenset()
    height = max((ceil(each.height_ft) for each in visit.course.plantings.all()), default=0)
    needs = {equipment(sprayer_name(height, product.needs_agitation))}
    if product.certificate_category:
        needs.add(certificate(_category(product, visit.course.property.jurisdiction)))
    return frozenset(needs)


def sprayer_name(height_ft: int, with_agitation: bool) -> str:
    """Return how a sprayer is named that reaches so high."""
    kind = "sprayer with agitation" if with_agitation else "sprayer"
    return f"{kind} to {height_ft} ft"


def _category(product: Product, jurisdiction: str) -> str:
    """Return category and place; of a restricted-use product the holder must be on the crew."""
    where = f"{product.certificate_category.casefold()}@{jurisdiction}"
    return f"{where} on the spot" if product.restricted_use else where


def _has(crew: Crew, need: str, day: date) -> bool:
    if need == crew_itself(crew.pk):
        return True
    return need in _certificates(crew, day) or any(
        need == equipment(sprayer_name(height, agitation))
        for sprayer in _sprayers(crew)
        for height in range(sprayer.reach_ft + 1)
        for agitation in {False, sprayer.has_agitation}
    )


def _sprayers(crew: Crew) -> list[Sprayer]:
    truck = getattr(crew, "truck", None)
    return [each for each in truck.sprayers.all() if not each.retired] if truck else []


def _certificates(crew: Crew, day: date) -> set[str]:
    """Return the categories a crew covers: those of its people, and those of their supervisors."""
    people = _applicators(crew)
    over = [person.supervisor for person in people if person.supervisor]
    own = {name for person in people for name in _categories(person, day)}
    theirs = {name for person in over for name in _categories(person, day)}
    return {certificate(name) for name in own | theirs} | {
        certificate(f"{name} on the spot") for name in own
    }


def _categories(person: Applicator, day: date) -> set[str]:
    return {
        f"{category.casefold()}@{held.jurisdiction}"
        for held in _valid(person, day)
        for category in held.categories
    }


def _applicators(crew: Crew) -> list[Applicator]:
    people = [person.user for person in crew.technicians.all() if person.user.is_active]
    return [user.applicator for user in people if hasattr(user, "applicator")]


def _valid(person: Applicator, day: date) -> list[Certificate]:
    return [
        each
        for each in person.certificates.all()
        if each.expires_on >= day and not (each.issued_on and each.issued_on > day)
    ]

"""Who must or wants to be told of a visit, and between which hours."""

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from functools import lru_cache
from zoneinfo import ZoneInfo

from clients.loaded import all_of
from clients.models import Client, Neighbour
from services.models import Visit
from treatments.rulebook import notices_at
from treatments.rules.records import NoticeRule, notice_window

DAY_BEFORE = timedelta(hours=24)  # where no rule says when; common practice
MIDNIGHT = time()
HOURS_KEPT = 256  # worked out already; a week has some dozens


@dataclass(frozen=True, slots=True)
class Reader:
    """Somebody to be told of a visit, and the key of the notice for a day.

    person: "client:" or "neighbour:" and the number in the book
    rules: those of the place that ask that they are told; none where they only wish it
    """

    name: str
    email: str
    phone: str
    address: str
    person: str
    key: str
    rules: tuple[NoticeRule, ...] = ()

    @property
    def is_bound(self) -> bool:
        """Whether a rule of the place asks that they are told."""
        return bool(self.rules)

    @property
    def ways(self) -> list[str]:
        """By telephone, mail or letter: the ways that are in the book."""
        address = ", ".join(self.address.removeprefix(self.name).split("\n")).removeprefix(", ")
        return [way for way in (self.phone, self.email, address) if way]

    def arguments(self, visit: Visit) -> dict[str, int]:
        """Return what a letter to them is written from."""
        what, _colon, number = self.person.partition(":")
        return {"visit": visit.pk, what: int(number)}


def people_to_tell(visit: Visit, day: date | None = None) -> list[Reader]:
    """Return the client, where notice is wanted, and the neighbours of a visit that sprays.

    day: on which it is made, or None for the planned day
    """
    if visit.rotation_week.product is None:
        return []
    place = visit.course.property
    clients = [place.client] if place.client.wants_notice else []
    return [
        *(_reader(visit, day, client, client.postal_address()) for client in clients),
        *(_reader(visit, day, each, each.address) for each in all_of(place, "neighbours")),
    ]


def starts_of(visit: Visit, day: date | None = None, shift: time = MIDNIGHT) -> datetime:
    """Return before when nobody begins, by the clocks of the property.

    shift: when the first crew begins its day
    """
    if visit.arrives_at is not None and day in (None, _local_day(visit)):
        return visit.arrives_at
    return datetime.combine(day or visit.planned, shift, visit.course.property.zone())


def _local_day(visit: Visit) -> date | None:
    at = visit.arrives_at
    return at and at.astimezone(visit.course.property.zone()).date()


def notice_hours(visit: Visit, day: date | None = None) -> tuple[datetime, datetime]:
    """Return between when notice of a visit may be given so that no rule of the place is missed.

    The hour is not known before the dispatch, so the first is counted from the end of the planned
    day and the last from its beginning.
    """
    place, begins = visit.course.property, starts_of(visit, day)
    ends = begins if begins == visit.arrives_at else begins + timedelta(days=1)
    rules = tuple(notices_at(place.jurisdiction, day or visit.planned))
    return _hours_to_tell(rules, begins, ends, place.zone())


# Many visits of a week have the same hours.  Moments of two zones may be equal: the zone counts.
@lru_cache(HOURS_KEPT)
def _hours_to_tell(
    rules: tuple[NoticeRule, ...], begins: datetime, ends: datetime, zone: ZoneInfo
) -> tuple[datetime, datetime]:
    latest = [notice_window(rule, begins).latest for rule in rules]
    earliest = [notice_window(rule, ends).earliest for rule in rules]
    closes = min([*latest, begins - DAY_BEFORE])
    opens = max((moment for moment in earliest if moment), default=closes - timedelta(days=2))
    return min(opens, closes), closes


def _rules_for(visit: Visit, day: date, neighbour: Neighbour) -> tuple[NoticeRule, ...]:
    place = visit.course.property
    feet = None if neighbour.distance_ft is None else Decimal(neighbour.distance_ft)
    return tuple(
        each
        for each in notices_at(place.jurisdiction, day)
        if each.binds(neighbour.ground, feet, place.county)
        and each.was_asked_in_time(neighbour.asked_on, day)
    )


def _reader(visit: Visit, day: date | None, person: Client | Neighbour, address: str) -> Reader:
    is_neighbour = isinstance(person, Neighbour)
    name = f"{'neighbour' if is_neighbour else 'client'}:{person.pk}"
    return Reader(
        name=person.name,
        email=person.email if isinstance(person, Neighbour) else person.mailbox(),
        phone=person.phone,
        address=address,
        person=name,
        key=f"notice:{visit.pk}:{(day or visit.planned).isoformat()}:{name}",
        rules=_rules_for(visit, day or visit.planned, person)
        if isinstance(person, Neighbour)
        else (),
    )

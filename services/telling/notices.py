"""Who must be told before a visit, whether they were, and the notices that are still to go out."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, time, timedelta
from decimal import Decimal

from django.db import transaction

from clients.models import Client, Neighbour
from services.models import Outbox, Visit
from services.telling.outbox import queue
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.records import NoticeRule, notice_window, notices_for

DAY_BEFORE = timedelta(hours=24)  # where no rule says when; common practice
USUAL = "common practice"


@dataclass(frozen=True, slots=True)
class Reader:
    """Somebody to be told of a visit, and the key of the notice for its planned day.

    is_bound: a rule of the place asks that they are told
    """

    name: str
    email: str
    key: str
    arguments: tuple[tuple[str, int], ...]
    is_bound: bool = False


def people_to_tell(visit: Visit) -> list[Reader]:
    """Return the client, where notice is wanted, and the neighbours of a visit that sprays."""
    if visit.rotation_week.product is None:
        return []
    place = visit.course.property
    clients = [place.client] if place.client.wants_notice else []
    return [
        *(_reader(visit, "client", client) for client in clients),
        *(_reader(visit, "neighbour", neighbour) for neighbour in place.neighbours.all()),
    ]


def notices_given(visits: Iterable[Visit]) -> frozenset[str]:
    """Return the keys of the notices of visits that have gone out, in one query."""
    keys = [reader.key for visit in visits for reader in people_to_tell(visit)]
    sent = Outbox.objects.filter(dedupe_key__in=keys, done_at__isnull=False)
    return frozenset(sent.values_list("dedupe_key", flat=True))


def notice_log(visit: Visit) -> str:
    """Return who was told of a visit and when, a line each, as a record keeps it."""
    zone = visit.course.property.zone()
    names = {reader.key: reader.name for reader in people_to_tell(visit)}
    sent = Outbox.objects.filter(dedupe_key__in=names, done_at__isnull=False).order_by("done_at")
    return "\n".join(
        f"{names[row.dedupe_key]}, {row.done_at.astimezone(zone):%Y-%m-%d %H:%M}"
        for row in sent
        if row.done_at is not None
    )


def missed_notices(visit: Visit, given: frozenset[str]) -> list[Finding]:
    """Return a finding that names who was not told yet, none when everybody was.

    given: the keys of the notices that went out
    """
    untold = [reader for reader in people_to_tell(visit) if reader.key not in given]
    if not untold:
        return []
    opens, closes = notice_hours(visit)
    return [
        Finding(
            code="notice-to-give",
            severity=Severity.WARNING,
            sentence=gettext_noop("To be told before the visit: %(names)s."),
            remedy=gettext_noop("Send the notice between %(opens)s and %(closes)s."),
            facts={
                "names": ", ".join(reader.name for reader in untold),
                "opens": f"{opens:%Y-%m-%d %H:%M}",
                "closes": f"{closes:%Y-%m-%d %H:%M}",
                "bound": any(reader.is_bound for reader in untold),
            },
            source=_source(visit) if any(reader.is_bound for reader in untold) else USUAL,
            week=visit.week,
        )
    ]


def notice_hours(visit: Visit) -> tuple[datetime, datetime]:
    """Return between when notice of a visit may be given so that no rule of the place is missed.

    The hour is not known before the dispatch, so the first is counted from the end of the planned
    day and the last from its beginning.
    """
    zone = visit.course.property.zone()
    begins = visit.arrives_at or datetime.combine(visit.planned, time(), tzinfo=zone)
    ends = visit.arrives_at or begins + timedelta(days=1)
    rules = _rules(visit)
    latest = [notice_window(rule, begins).latest for rule in rules]
    earliest = [notice_window(rule, ends).earliest for rule in rules]
    closes = min([*latest, begins - DAY_BEFORE])
    opens = max((moment for moment in earliest if moment), default=closes - timedelta(days=2))
    return min(opens, closes), closes


@transaction.atomic
def queue_notices(visit: Visit, *, now: datetime) -> list[Outbox]:
    """Write down a notice for each person who has an email address; twice does it once.

    A notice goes out as soon as the rules of the place allow, and now where that has passed.
    """
    opens, _closes = notice_hours(visit)
    return [
        queue(
            Outbox.Kind.NOTICE,
            arguments=dict(reader.arguments),
            dedupe_key=reader.key,
            not_before=max(opens, now),
        )
        for reader in people_to_tell(visit)
        if reader.email
    ]


@transaction.atomic
def tell_again(visit: Visit, *, now: datetime) -> list[Outbox]:
    """Write down notices of the day to which a visit was moved; those of other days are dropped.

    What has gone out stays in the book, and what is just going out is not stopped.
    """
    readers = [reader.key for reader in people_to_tell(visit)]
    others = Outbox.objects.filter(dedupe_key__startswith=f"notice:{visit.pk}:")
    waiting = others.filter(done_at__isnull=True, sending_since__isnull=True)
    waiting.exclude(dedupe_key__in=readers).delete()
    return queue_notices(visit, now=now)


def _rules(visit: Visit) -> list[NoticeRule]:
    """Return the rules of the place that bind where somebody lives near or asked."""
    return notices_for(visit.course.property.jurisdiction)


def _source(visit: Visit) -> str:
    return next((rule.source for rule in _rules(visit)), USUAL)


def _is_bound(visit: Visit, neighbour: Neighbour) -> bool:
    if neighbour.ground == Neighbour.Ground.ASKED:
        return any(rule.on_request for rule in _rules(visit))
    feet = None if neighbour.distance_ft is None else Decimal(neighbour.distance_ft)
    return any(rule.concerns(feet) and not rule.on_request for rule in _rules(visit))


def _reader(visit: Visit, what: str, person: Client | Neighbour) -> Reader:
    return Reader(
        name=person.name,
        email=person.email,
        key=f"notice:{visit.pk}:{visit.planned.isoformat()}:{what}:{person.pk}",
        arguments=(("visit", visit.pk), (what, person.pk)),
        is_bound=isinstance(person, Neighbour) and _is_bound(visit, person),
    )

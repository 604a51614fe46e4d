"""Who was told of a visit and when: mails that went out, and attempts that people made."""

from collections.abc import Callable, Iterable, Mapping
from datetime import date, datetime
from uuid import UUID

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone, translation
from django.utils.translation import gettext_lazy as _

from services.journaling import journal_contact
from services.models import ContactAttempt, Outbox, Visit
from services.telling.notices.people import Reader, people_to_tell

Moments = tuple[datetime, ...]


def told_when(
    visits: Iterable[Visit],
    day: date | None = None,
    whom: Callable[[Visit, date], Iterable[Reader]] = people_to_tell,
) -> dict[str, Moments]:
    """Return when each notice of visits reached somebody, by its key, in two queries.

    day: a day beside the planned ones on which the visits may be made
    whom: says who is to be told of a visit on a day
    """
    visits = list(visits)
    days = [(visit, each) for visit in visits for each in {visit.planned, day or visit.planned}]
    keys = [reader.key for visit, each in days for reader in whom(visit, each)]
    mails = Outbox.objects.filter(dedupe_key__in=keys, done_at__isnull=False)
    found: dict[str, Moments] = {}
    for row in mails:
        if row.done_at is not None:
            found[row.dedupe_key] = (row.done_at,)
    reached = ContactAttempt.objects.filter(
        visit__in=[visit.pk for visit in visits], outcome__in=ContactAttempt.REACHED
    )
    for each in reached:
        found[key_of(each)] = (*found.get(key_of(each), ()), each.at)
    return found


def key_of(attempt: ContactAttempt) -> str:
    """Return the key of the notice that an attempt was to give."""
    return f"notice:{attempt.visit_id}:{attempt.day.isoformat()}:{attempt.person}"


def notices_given(visits: Iterable[Visit]) -> frozenset[str]:
    """Return the keys of the notices of visits for their planned days that reached somebody."""
    visits = list(visits)
    wanted = {reader.key for visit in visits for reader in people_to_tell(visit)}
    return frozenset(wanted.intersection(told_when(visits)))


def accepted(visits: Iterable[Visit]) -> frozenset[str]:
    """Return the keys of the notices whose day was accepted and not declined since."""
    last: dict[str, str] = {}
    attempts = ContactAttempt.objects.filter(visit__in=[visit.pk for visit in visits])
    for each in attempts.order_by("at", "pk"):
        if each.outcome != ContactAttempt.Outcome.NOT_REACHED:
            last[key_of(each)] = each.outcome
    return frozenset(key for key, word in last.items() if word == ContactAttempt.Outcome.ACCEPTED)


def told_of_other_days(visits: Iterable[Visit]) -> dict[int, frozenset[date]]:
    """Return the days that clients were told of, by the id of the visit."""
    ids = [visit.pk for visit in visits]
    found: dict[int, set[date]] = {}
    clients = ContactAttempt.objects.filter(visit__in=ids, person__startswith="client:")
    for visit_id, day in clients.filter(outcome__in=ContactAttempt.REACHED).values_list(
        "visit_id", "day"
    ):
        found.setdefault(visit_id, set()).add(day)
    mails = Outbox.objects.filter(kind=Outbox.Kind.NOTICE, done_at__isnull=False)
    for key in mails.filter(dedupe_key__contains=":client:").values_list("dedupe_key", flat=True):
        parts = key.split(":")
        if parts[0] == "notice" and parts[1].isdecimal() and int(parts[1]) in ids:
            found.setdefault(int(parts[1]), set()).add(date.fromisoformat(parts[2]))
    return {visit_id: frozenset(days) for visit_id, days in found.items()}


@transaction.atomic
def log_contact(
    visit: Visit,
    reader: Reader,
    *,
    way: str,
    outcome: str,
    at: datetime,
    by: User | None,
    form_id: UUID,
    note: str = "",
    now: datetime | None = None,
) -> ContactAttempt:
    """Keep that somebody tried to tell a person of a visit on its planned day, for good.

    The same form keeps it once.  Raise ValidationError for a time that has not come.

    now: when it is written down, if not at this moment
    """
    kept = ContactAttempt.objects.filter(form_id=form_id).first()
    if kept is not None:
        return kept
    if at > (now or timezone.now()):
        raise ValidationError(_("That time has not come yet."), code="in_the_future")
    attempt = ContactAttempt(
        visit=visit,
        day=visit.planned,
        person=reader.person,
        name=reader.name,
        at=at,
        way=way,
        outcome=outcome,
        note=note,
        made_by=by,
        form_id=form_id,
    )
    attempt.full_clean()
    attempt.save(force_insert=True)
    journal_contact(attempt)
    return attempt


def notice_log(visit: Visit) -> str:
    """Return whom it was tried to tell of a visit, when, how and with what outcome, for a record.

    Records are written in English.
    """
    zone = visit.course.property.zone()
    lines = [*_mails(visit, {r.key: r.name for r in people_to_tell(visit)}), *_attempts(visit)]
    return "\n".join(
        f"{name}, {at.astimezone(zone):%Y-%m-%d %H:%M}{how}" for at, name, how in sorted(lines)
    )


def _mails(visit: Visit, names: Mapping[str, str]) -> list[tuple[datetime, str, str]]:
    sent = Outbox.objects.filter(dedupe_key__in=names, done_at__isnull=False)
    return [(row.done_at, names[row.dedupe_key], "") for row in sent if row.done_at is not None]


def _attempts(visit: Visit) -> list[tuple[datetime, str, str]]:
    with translation.override("en"):
        return [
            (each.at, each.name, f", {each.get_way_display()}: {each.get_outcome_display()}")
            for each in visit.contact_attempts.all()
        ]

"""Disposes of holds, notices and tries to tell somebody after their time; the leaf stays.

Each is kept as long as records of its place are and seven years at least, and as long as the
records of its visit.  What goes is the body of its entry and each text of its row that somebody
wrote; that a visit was held or told of, when, and by whom in the book's numbers stays.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.db import models, transaction

from services.journaling import CONTACT, LIFTED
from services.models import ContactAttempt, Hold, Outbox, Visit
from treatments.disposing import KEPT_YEARS, dispose_of_entry, kept_until, years_after
from treatments.models import EntryDisposal
from treatments.rulebook import Binding, rules_at
from treatments.rules.journal import HOLD, NOTICE
from treatments.rules.records import retention_of


@dataclass(frozen=True, slots=True)
class PastItsTime:
    """A hold, a notice or a try that may be disposed of, and the last day on which it was kept.

    nouns: under which the ids of its entries are made
    """

    nouns: tuple[str, ...]
    row: Hold | Outbox | ContactAttempt
    keep_until: date


def past_their_time(today: date) -> Iterator[PastItsTime]:
    """Yield the holds, notices and tries that need not be kept any longer."""
    before = today - timedelta(days=365 * KEPT_YEARS)
    for nouns, rows, when in _kinds(before):
        done = EntryDisposal.objects.filter(noun=nouns[0]).values("number")
        for row in rows.exclude(pk__in=done).order_by("pk").iterator():
            keep_until = _kept_until(_visit_of(row), getattr(row, when))
            if keep_until < today:
                yield PastItsTime(nouns, row, keep_until)


def _kinds(before: date) -> list[tuple[tuple[str, ...], models.QuerySet[Any], str]]:
    """Return each kind of thing with what has ended before a day, and the name of when it did."""
    return [
        ((HOLD, LIFTED), Hold.objects.filter(lifted_at__date__lt=before), "lifted_at"),
        (
            (NOTICE,),
            Outbox.objects.filter(kind=Outbox.Kind.NOTICE, done_at__date__lt=before),
            "done_at",
        ),
        ((CONTACT,), ContactAttempt.objects.filter(at__date__lt=before), "at"),
    ]


def _visit_of(row: Hold | Outbox | ContactAttempt) -> Visit:
    number = row.arguments["visit"] if isinstance(row, Outbox) else row.visit_id
    return Visit.objects.select_related("course__property").get(pk=number)


def _kept_until(visit: Visit, moment: datetime) -> date:
    """Return until which day what was said of a visit at a moment is kept."""
    place = visit.course.property
    day = max(moment.astimezone(ZoneInfo(place.time_zone)).date(), visit.planned)
    rules = retention_of(
        day, place.jurisdiction, rulesets=rules_at(place.jurisdiction, Binding(day))
    )
    of_records = [kept_until(record) for record in visit.records.all()]
    return max([years_after(day), rules.keep_until, *of_records])


@transaction.atomic
def dispose_of_past(by: Any, at: datetime) -> int:
    """Dispose of all that is past its time; return how many things were."""
    past = list(past_their_time(at.date()))
    for each in past:
        for noun in each.nouns:
            dispose_of_entry(noun, each.row.pk, keep_until=each.keep_until, by=by, at=at)
        if isinstance(each.row, Hold):
            Hold.objects.filter(pk=each.row.pk).update(note="")
        elif isinstance(each.row, ContactAttempt):
            # The model refuses to change kept rows; the triggers let this one change pass.
            models.QuerySet(ContactAttempt).filter(pk=each.row.pk).update(name="", note="")
    return len(past)

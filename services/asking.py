"""Clients ask for another day of a visit; the office moves it or says why it stays."""

from datetime import date, datetime

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from services.models import DayAsked, Hook, Outbox, Visit
from services.telling.hooks import announce
from services.telling.outbox import queue


@transaction.atomic
def ask_for_day(visit: Visit, *, day: date | None, words: str, at: datetime) -> DayAsked:
    """Keep which other day a client would like; a second wish takes the place of an open one.

    day: one of the days of the visit, or None where none of them will do and the words say what
    Raise ValidationError where the visit is under way or over, or the day is none of its own.
    """
    visit = Visit.objects.select_for_update().get(pk=visit.pk)
    if visit.state != Visit.State.NEEDS_ACTION:
        raise ValidationError(_("This visit does not move any more: call us."), code="not_open")
    if day is not None and not visit.earliest <= day <= visit.latest:
        raise ValidationError(_("Choose one of the days of this visit."), code="outside_days")
    asked = DayAsked.objects.filter(visit=visit, answered_at__isnull=True).first()
    asked = asked or DayAsked(visit=visit)
    asked.was_planned, asked.day, asked.words, asked.asked_at = visit.planned, day, words, at
    asked.full_clean()
    asked.save()
    told = {"visit": visit.pk, "asked": asked.pk}
    announce(Hook.Event.DAY_ASKED, told, once=f"{asked.pk}:{at.isoformat()}", at=at)
    return asked


@transaction.atomic
def keep_day(asked: DayAsked, *, reply: str, by: User, at: datetime) -> bool:
    """Answer a client that the day stays, and why; say whether it had not been answered before."""
    return _answer(asked, DayAsked.Answer.KEPT, reply=reply, by=by, at=at)


def answer_by_move(visit: Visit, *, by: User | None, at: datetime) -> None:
    """Answer the open wish of a visit that was moved, whichever day it went to."""
    for asked in DayAsked.objects.filter(visit=visit, answered_at__isnull=True):
        _answer(asked, DayAsked.Answer.MOVED, reply="", by=by, at=at)


def _answer(
    asked: DayAsked, answer: DayAsked.Answer, *, reply: str, by: User | None, at: datetime
) -> bool:
    is_first = DayAsked.objects.filter(pk=asked.pk, answered_at__isnull=True).update(
        answer=answer, reply=reply, answered_by=by, answered_at=at
    )
    client = asked.visit.course.property.client
    if is_first and client.mailbox():
        queue(
            Outbox.Kind.DAY_ANSWER,
            arguments={"asked": asked.pk, "client": client.pk},
            dedupe_key=f"day answer:{asked.pk}",
            not_before=at,
        )
    return bool(is_first)

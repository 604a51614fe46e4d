"""Who may correct a record alone, who must ask, and who agrees.

Who is certified amends what he or she applied or wrote, and agrees to what others ask; everybody
else asks.  That a record is void takes an owner and somebody certified, in two steps.  Where the
book knows nobody else who could agree, the one who asked may, in a step of its own.  A certificate
counts where it holds on the day of the act, by the clock of the record's place and in its
jurisdiction.  Who applied is another matter: that goes by the day of the work (`recording`).
"""

from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.db.models import Q, QuerySet
from django.utils import timezone

from clients.access import CREW, Role, has_role, role_of
from treatments.certified import certified_users, is_certified
from treatments.models import ApplicationRecord, Correction


def is_own(user: Any, record: ApplicationRecord) -> bool:
    """Say whether a person applied what a record tells, or wrote it down."""
    return user.pk in (record.applicator.user_id, record.recorded_by_id)


def may_ask(user: Any, record: ApplicationRecord) -> bool:
    """Say whether a person may correct a record, alone or with approval."""
    if role_of(user) is Role.TECHNICIAN:
        return is_own(user, record)
    return has_role(user, CREW)


def amends_alone(user: Any, record: ApplicationRecord, at: datetime | None = None) -> bool:
    """Say whether a person amends a record without anybody's approval.

    at: when, if not at this moment
    """
    return is_own(user, record) and is_certified_for(user, record, at)


def is_certified_for(user: Any, record: ApplicationRecord, at: datetime | None = None) -> bool:
    """Say whether a person's certificate holds at the place of a record, now or at a moment."""
    return is_certified(user, _day_there(record, at), jurisdiction=record.jurisdiction)


def _day_there(record: ApplicationRecord, at: datetime | None) -> date:
    """Return the day of an act by the clock of a record's place."""
    return (at or timezone.now()).astimezone(ZoneInfo(record.time_zone)).date()


def may_ask_to_void(user: Any, record: ApplicationRecord, at: datetime | None = None) -> bool:
    """Say whether a person may ask that a record be declared void."""
    return role_of(user) is Role.OWNER or is_certified_for(user, record, at)


def may_answer(user: Any, correction: Correction, at: datetime | None = None) -> bool:
    """Say whether a person may agree to a correction, or decline it.

    at: when, if not at this moment
    """
    could = who_could_agree(correction, at)
    others = could.exclude(pk=correction.asked_by_id)
    if user.pk == correction.asked_by_id and others.exists():
        return False
    return could.filter(pk=user.pk).exists()


def who_could_agree(correction: Correction, at: datetime | None = None) -> QuerySet[User]:
    """Return who could agree to a correction if nobody had asked for it."""
    record = correction.record
    certified = certified_users(_day_there(record, at), record.jurisdiction)
    if not correction.void:
        return certified
    owners = get_user_model().objects.filter(is_active=True, groups__name=Role.OWNER)
    asker = correction.asked_by
    asked_as_owner = owners.filter(pk=asker.pk).exists()
    asked_as_certified = certified.filter(pk=asker.pk).exists()
    agree = Q(pk__in=[])
    if asked_as_owner:
        agree |= Q(pk__in=certified.values("pk"))
    if asked_as_certified:
        agree |= Q(pk__in=owners.values("pk"))
    return get_user_model().objects.filter(agree)

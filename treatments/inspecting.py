"""Grants to inspectors: made by the owner for a time, and taken back."""

from datetime import date, datetime, timedelta

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from clients.access import Role, role_of
from clients.models import Client
from treatments.models import InspectorGrant
from treatments.models.inspecting import USUAL_DAYS

LONGEST_DAYS = 366  # our own choice: a year's look at most


def grant(
    *,
    inspector: User,
    purpose: str,
    jurisdictions: list[str],
    client: Client | None = None,
    first_day: date | None = None,
    last_day: date | None = None,
    by: User,
    now: datetime,
    days: int = USUAL_DAYS,
) -> InspectorGrant:
    """Let one inspector read some records for a number of days; the same again is the same grant.

    jurisdictions, client, first_day, last_day: which records, by place, client and day of work

    Raise ValidationError for somebody who is no inspector, or for no places and no client.
    """
    if role_of(inspector) is not Role.INSPECTOR:
        raise ValidationError({"inspector": _("Only who signs in as an inspector gets a grant.")})
    if not 0 < days <= LONGEST_DAYS:
        raise ValidationError({"days": _("Let it hold from one day to a year.")})
    wanted = {
        "inspector": inspector,
        "purpose": purpose,
        "jurisdictions": sorted(jurisdictions),
        "client": client,
        "first_day": first_day,
        "last_day": last_day,
    }
    same = InspectorGrant.objects.open_at(now).filter(**wanted, granted_by=by)
    for each in same:
        if each.ends_at - each.starts_at == timedelta(days=days):
            return each
    row = InspectorGrant(**wanted, granted_by=by, starts_at=now, ends_at=now + timedelta(days=days))
    row.full_clean()
    row.save()
    return row


def end_grant(row: InspectorGrant, *, at: datetime) -> bool:
    """Take a grant back; say whether it held until now."""
    held = InspectorGrant.objects.open_at(at).filter(pk=row.pk)
    return bool(held.update(ended_at=at))

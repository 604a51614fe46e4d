"""Who of those that sign in holds a certificate, and so may sign for what is applied."""

from datetime import date
from typing import Any

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.db.models import QuerySet
from django.utils import timezone

from clients.access import CERTIFIED, has_role
from treatments.models import Certificate

CERTIFIED_ROLES = [str(role) for role in CERTIFIED]


def is_certified(user: Any, day: date | None = None, jurisdiction: str = "") -> bool:
    """Say whether a person signs for applications: by the role, and by a certificate that holds.

    day: on which it must hold, if not today; jurisdiction: in which it must hold, "" for any
    """
    if not has_role(user, CERTIFIED):
        return False
    held = Certificate.objects.filter(applicator__user=user)
    if jurisdiction:
        held = held.filter(jurisdiction=jurisdiction)
    return held.valid_on(day or timezone.localdate()).exists()


def certified_users(day: date, jurisdiction: str) -> QuerySet[User]:
    """Return everybody who signs for applications at places of a jurisdiction on a day."""
    valid = Certificate.objects.valid_on(day).filter(jurisdiction=jurisdiction)
    held = valid.values("applicator__user")
    people = get_user_model().objects.filter(is_active=True, groups__name__in=CERTIFIED_ROLES)
    return people.filter(pk__in=held).distinct()

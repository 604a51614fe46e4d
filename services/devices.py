"""The crews' phones: a code that works once makes one, and it is taken back at once.

Code and token are shown once and kept as digests.  A phone speaks for its person in the field
alone; it opens no page of the office.
"""

import logging
import secrets
from datetime import datetime, timedelta
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from clients.access import CREW, has_role
from services.models import Device

logger = logging.getLogger(__name__)

CODE_HOLDS = timedelta(minutes=15)
LETTERS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"  # without I, L, O and U, which are misread
CODE_LENGTH = 12  # of 32 letters: 60 bits
CONTACT_EACH = timedelta(minutes=1)  # a phone heard of within it is not written down again


class CodeUnusable(LookupError):
    """There is no phone to be enrolled by this code: unknown, used, or too old."""


def make_code(person: User, *, name: str, by: User, now: datetime) -> tuple[Device, str]:
    """Make a phone that waits to be enrolled, and the code that does it; shown once."""
    code = "".join(secrets.choice(LETTERS) for _ in range(CODE_LENGTH))
    device = Device(
        person=person,
        name=name,
        code_digest=Device.digest_of(code),
        code_ends_at=now + CODE_HOLDS,
        made_at=now,
        made_by=by,
    )
    device.full_clean()
    device.save()
    logger.info("phone code made", extra=_who(device, by))
    return device, code


def plain_code(typed: str) -> str:
    """Return a code as it was made: capitals without gaps, misread letters set right.

    >>> plain_code("ab1o-cdef 2345")
    'AB10CDEF2345'
    """
    letters = "".join(each for each in typed.upper() if each.isalnum())
    return letters.translate(str.maketrans("OIL", "011"))


def waiting_for(code: str, now: datetime) -> Device:
    """Return the phone that a code would enrol; raise CodeUnusable where there is none."""
    waiting = Device.objects.select_related("person").filter(
        code_digest=Device.digest_of(plain_code(code)),
        enrolled_at__isnull=True,
        revoked_at__isnull=True,
        code_ends_at__gt=now,
    )
    device = waiting.first()
    if device is None or not may_carry(device.person):
        raise CodeUnusable
    return device


@transaction.atomic
def enrol(code: str, *, now: datetime) -> tuple[Device, str]:
    """Enrol a phone by its code and return its token, which the phone alone keeps.

    The code works once: of two phones that send it one is enrolled.
    """
    device = waiting_for(code, now)
    token = secrets.token_urlsafe(32)
    enrolled = Device.objects.filter(pk=device.pk, enrolled_at__isnull=True).update(
        enrolled_at=now, last_contact_at=now, token_digest=Device.digest_of(token)
    )
    if not enrolled:
        raise CodeUnusable
    device.refresh_from_db()
    logger.info("phone enrolled", extra=_who(device, device.person))
    return device, token


def device_of(token: str, now: datetime) -> Device | None:
    """Return the phone that holds a token and may speak, or None."""
    if not token:
        return None
    known = Device.objects.select_related("person").filter(token_digest=Device.digest_of(token))
    device = known.first()
    if device is None or not device.is_open_at(now) or not device.person.is_active:
        return None
    return device


@transaction.atomic
def heard_of(device: Device, now: datetime, **said: Any) -> None:
    """Note that a phone was heard of, with what it said of itself."""
    is_news = device.last_contact_at is None or now - device.last_contact_at >= CONTACT_EACH
    if said or is_news:
        Device.objects.filter(pk=device.pk).update(last_contact_at=now, **said)


def revoke(device: Device, *, by: User, at: datetime) -> bool:
    """Take a phone back: it opens nothing from now on; say whether it did until now."""
    taken = Device.objects.filter(pk=device.pk, revoked_at__isnull=True)
    if not taken.update(revoked_at=at, revoked_by=by):
        return False
    logger.info("phone taken back", extra=_who(device, by))
    return True


def revoke_all_of(person: User, *, by: User | None, at: datetime) -> int:
    """Take back every phone of a person who leaves; return how many."""
    return Device.objects.filter(person=person, revoked_at__isnull=True).update(
        revoked_at=at, revoked_by=by
    )


def may_carry(person: User) -> bool:
    """Say whether a person may carry a phone of the field."""
    return has_role(person, CREW)


def _who(device: Device, by: User) -> dict[str, Any]:
    return {"device": str(device.pk), "person": device.person_id, "by": by.pk}

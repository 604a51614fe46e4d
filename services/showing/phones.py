"""The phones as the office sees them, with what is to be done about each."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Exists, OuterRef, QuerySet
from django.utils.safestring import SafeString, mark_safe
from segno import make_qr

from services.models import Device, Dispatch
from services.models.field import IDLE

NAG_AFTER = timedelta(hours=24)  # the phone reminds its person
TELL_AFTER = timedelta(hours=72)  # the office is told


@dataclass(frozen=True, slots=True)
class Phone:
    """A phone and how it stands.

    waits_hours: how long its oldest event has waited, as far as it is known
    silent_hours: how long it has not been heard of, where its crew was out in that time
    """

    device: Device
    is_open: bool
    waits_hours: int | None
    is_late: bool
    silent_hours: int | None = None

    def is_waiting(self) -> bool:
        """Say whether the code was made and not used yet."""
        return self.device.enrolled_at is None and self.device.revoked_at is None


def phones_shown(now: datetime) -> list[Phone]:
    """Return every phone, the latest first of each person, those taken back at the end."""
    people = Device.objects.select_related("person", "person__technician__crew")
    silent = set(_silent(now).values_list("pk", flat=True))
    phones = [phone_of(device, now, is_silent=device.pk in silent) for device in people]
    return sorted(phones, key=lambda phone: (phone.device.revoked_at is not None,))


def phone_of(device: Device, now: datetime, *, is_silent: bool = False) -> Phone:
    """Return how a phone stands.

    What it had not sent when it was heard of last counts as unsent since.
    is_silent: its crew was out and it was not heard of for three days, whatever it may hold
    """
    since = device.oldest_unsent_at if device.unsent else None
    waits = None if since is None else now - since
    return Phone(
        device=device,
        is_open=device.is_open_at(now),
        waits_hours=None if waits is None else _hours(waits),
        is_late=waits is not None and waits >= TELL_AFTER and device.revoked_at is None,
        silent_hours=_hours(now - device.last_contact_at)
        if is_silent and device.last_contact_at
        else None,
    )


def _hours(passed: timedelta) -> int:
    return max(0, int(passed.total_seconds() // 3600))


def _silent(now: datetime) -> QuerySet[Device]:
    """Pick the phones that nobody heard of for three days though their crew went out since."""
    out = Dispatch.objects.filter(
        crew=OuterRef("person__technician__crew"),
        returns_at__gt=OuterRef("last_contact_at"),
        returns_at__lte=now,
    )
    quiet = Device.objects.enrolled().filter(
        last_contact_at__lte=now - TELL_AFTER, last_contact_at__gt=now - IDLE
    )
    return quiet.filter(Exists(out))


def late_phones(now: datetime) -> list[Phone]:
    """Return the phones whose people the office calls.

    Events have waited on them for three days, or they have been silent so long and may hold some.
    """
    holding = Device.objects.enrolled().filter(unsent__gt=0, oldest_unsent_at__lte=now - TELL_AFTER)
    silent = _silent(now).exclude(pk__in=holding.values("pk"))
    return [
        *(phone_of(device, now) for device in holding.select_related("person")),
        *(phone_of(device, now, is_silent=True) for device in silent.select_related("person")),
    ]


def in_groups(code: str) -> str:
    """Return a code in groups of four, as it is read aloud.

    >>> in_groups("AB10CDEF2345")
    'AB10 CDEF 2345'
    """
    return " ".join(code[place : place + 4] for place in range(0, len(code), 4))


def as_qr(address: str) -> SafeString:
    """Return an address as a QR code in SVG, dark on light in any theme."""
    drawing = make_qr(address, error="m").svg_inline(scale=5, border=4, light="#fff", dark="#000")
    return mark_safe(drawing)

"""The phones as the office sees them, with what is to be done about each."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.utils.safestring import SafeString, mark_safe
from segno import make_qr

from services.models import Device

NAG_AFTER = timedelta(hours=24)  # the phone reminds its person
TELL_AFTER = timedelta(hours=72)  # the office is told


@dataclass(frozen=True, slots=True)
class Phone:
    """A phone and how it stands.

    waits_hours: how long its oldest event has waited, as far as it is known
    """

    device: Device
    is_open: bool
    waits_hours: int | None
    is_late: bool

    def is_waiting(self) -> bool:
        """Say whether the code was made and not used yet."""
        return self.device.enrolled_at is None and self.device.revoked_at is None


def phones_shown(now: datetime) -> list[Phone]:
    """Return every phone, the latest first of each person, those taken back at the end."""
    people = Device.objects.select_related("person", "person__technician__crew")
    phones = [phone_of(device, now) for device in people]
    return sorted(phones, key=lambda phone: (phone.device.revoked_at is not None,))


def phone_of(device: Device, now: datetime) -> Phone:
    """Return how a phone stands.

    What it had not sent when it was heard of last counts as unsent since.
    """
    since = device.oldest_unsent_at if device.unsent else None
    waits = None if since is None else now - since
    return Phone(
        device=device,
        is_open=device.is_open_at(now),
        waits_hours=None if waits is None else max(0, int(waits.total_seconds() // 3600)),
        is_late=waits is not None and waits >= TELL_AFTER and device.revoked_at is None,
    )


def late_phones(now: datetime) -> list[Phone]:
    """Return the phones whose events have waited for three days: the office calls their people."""
    holding = Device.objects.enrolled().filter(unsent__gt=0, oldest_unsent_at__lte=now - TELL_AFTER)
    return [phone_of(device, now) for device in holding.select_related("person")]


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

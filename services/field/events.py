"""An event as it is read from what a phone sent: well made, cleaned, and with its fingerprint."""

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.utils.translation import gettext as _

from services.field.bodies import EventSerializer
from services.models import Device
from services.rules.phone_clocks import PhoneClock, is_uuid7
from treatments.rules.canonical import NotCanonical, canonical, cleaned

MALFORMED, NOT_ITS_OWN, ANOTHER_BODY = "malformed", "not-this-phone", "another-body"
NOT_ASKED_TWICE = {"clock"}  # a phone may look at its clock again before it sends again


class Unreadable(ValueError):
    """What was sent is no event of this phone.

    code: a short name; status: of the problem document that tells it
    """

    def __init__(self, code: str, detail: str, status: int = 422):
        super().__init__(detail)
        self.code, self.detail, self.status = code, detail, status


@dataclass(frozen=True, slots=True)
class Event:
    """One thing that was done, as its phone tells it.

    told: canonical JSON of all that was sent; fingerprint: SHA-256 of what a repeat has the same
    """

    event_id: UUID
    seq: int
    kind: str
    visit_id: int | None
    packet: str
    done_at: datetime
    captured_at: datetime
    zone: str
    clock: PhoneClock
    body: Mapping[str, Any]
    told: str
    fingerprint: str
    photos: tuple[Mapping[str, Any], ...] = field(default=())

    def skew(self) -> timedelta | None:
        """Return how far the phone's clock was ahead of ours, where it can be known."""
        return self.clock.skew()


def event_id_in(sent: Mapping[str, Any]) -> str:
    """Return the id of what was sent, or an empty text where it has none that is well made."""
    said = sent.get("event_id")
    return said.lower() if isinstance(said, str) and is_uuid7(said) else ""


def as_sent(sent: Mapping[str, Any]) -> str:
    """Return what was sent as a text in ASCII, whatever it holds."""
    return json.dumps(sent, ensure_ascii=True, sort_keys=True, default=str)


def fingerprint_of(sent: Mapping[str, Any]) -> str:
    """Return the SHA-256 of an event's canonical bytes [RFC8785]; Unreadable for fractions."""
    meant = {name: value for name, value in sent.items() if name not in NOT_ASKED_TWICE}
    try:
        return hashlib.sha256(canonical(meant)).hexdigest()
    except NotCanonical as error:
        remedy = _("Write amounts as texts.")
        raise Unreadable(MALFORMED, f"{error} {remedy}") from error


def read_event(sent: Mapping[str, Any], device: Device) -> Event:
    """Return an event of a phone; raise Unreadable where it is none."""
    fingerprint = fingerprint_of(sent)
    asked = EventSerializer(data=_cleaned(sent))
    if not asked.is_valid():
        raise Unreadable(MALFORMED, _in_one_line(asked.errors))
    read = asked.validated_data
    if read["device_id"] != device.pk:
        raise Unreadable(NOT_ITS_OWN, _("The event names another phone."), 403)
    return Event(
        event_id=UUID(read["event_id"]),
        seq=read["device_seq"],
        kind=read["kind"],
        visit_id=read.get("visit_id"),
        packet=read.get("packet", ""),
        done_at=read["done_at"],
        captured_at=read["captured_at"],
        zone=read.get("zone", ""),
        clock=PhoneClock(**read["clock"]),
        body=read["body"],
        photos=tuple(read.get("photos", ())),
        told=canonical(sent).decode(),
        fingerprint=fingerprint,
    )


def _cleaned(value: Any) -> Any:
    """Return what was sent with its texts in the form that the book keeps."""
    if isinstance(value, str):
        return cleaned(value)
    if isinstance(value, Mapping):
        return {cleaned(str(name)): _cleaned(each) for name, each in value.items()}
    if isinstance(value, list):
        return [_cleaned(each) for each in value]
    return value


def _in_one_line(errors: Any) -> str:
    """Return the errors of a serializer as one sentence a field."""
    return " ".join(f"{field}: {error}" for field, error in flat(errors))


def flat(errors: Any, before: str = "") -> list[tuple[str, Any]]:
    """Return nested errors as pairs of a field, such as reports.0.lot, and what is wrong there."""
    pairs: Iterable[tuple[Any, Any]]
    if isinstance(errors, Mapping):
        pairs = errors.items()
    elif isinstance(errors, list) and any(isinstance(each, Mapping) for each in errors):
        pairs = enumerate(errors)
    else:
        return [(before, each) for each in (errors if isinstance(errors, list) else [errors])]
    return [
        found
        for name, each in pairs
        for found in flat(each, f"{before}.{name}" if before else str(name))
    ]

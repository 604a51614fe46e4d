"""What a crew saw on its phone, held against what the book says by now."""

import json
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from services.field.events import Event
from services.field.packets import told_product
from services.models import Device, Packet, Visit
from services.rules.phone_clocks import check_phone_clock, check_zone
from treatments.models import Product
from treatments.recording import flag_of
from treatments.recording.flagging import Flag
from treatments.rules.findings import Finding, Severity, gettext_noop

MOVED = gettext_noop(
    "The visit had been taken off the crew's day of %(day)s; by now it is planned for %(planned)s."
)
LABEL_CHANGED = gettext_noop(
    "The label copy of %(product)s was changed since the phone read it: %(what)s. "
    "The record keeps what the crew saw."
)
STANDS_FOR_ITSELF = {"id", "version", "first_aid"}
COLUMNS = {
    "name": "product_name",
    "registration_number": "epa_registration_number",
    "label_version": "label_version",
    "signal_word": "signal_word",
    "restricted_use": "restricted_use",
}

Stop = Mapping[str, Any]


def was_sent(device: Device, visit: Visit) -> bool:
    """Say whether a phone of the same person was ever sent a visit."""
    return Packet.objects.filter(device__person=device.person_id, visits=visit).exists()


def stop_seen(device: Device, event: Event, visit: Visit) -> Stop | None:
    """Return the stop as the crew saw it: of the packet it names, else of the last one sent."""
    sent = Packet.objects.filter(device=device, visits=visit)
    packet = sent.filter(digest=event.packet).first() or sent.order_by("-first_sent_at").first()
    if packet is None:
        return None
    stops = json.loads(packet.content)["stops"]
    return next((stop for stop in stops if stop["visit"] == visit.pk), None)


def flags_on_event(event: Event, visit: Visit | None, seen: Stop | None) -> list[Flag]:
    """Return what is odd about an event beside what its records say: its clock, the move."""
    dispatched = datetime.fromisoformat(seen["dispatched_at"]) if seen else None
    findings = check_phone_clock(event.skew(), done_at=event.done_at, dispatched_at=dispatched)
    if visit is not None:
        findings += check_zone(event.zone, visit.course.property.time_zone)
        findings += _moved(visit, seen)
    return [flag_of(finding) for finding in findings]


def _moved(visit: Visit, seen: Stop | None) -> list[Finding]:
    """Return that a visit left the day on which the crew saw it; a hold says so by itself."""
    if seen is None or visit.dispatch_id == seen["dispatch"] or visit.open_hold():
        return []
    if visit.state == Visit.State.CANCELLED:
        return []
    facts = {"day": seen["day"], "planned": visit.planned.isoformat()}
    return [_warning("moved-meanwhile", MOVED, facts)]


def columns_seen(product: Product, seen: Stop | None) -> dict[str, Any]:
    """Return the columns in which a record keeps the label as the crew saw it; none where alike."""
    label = _label_seen(product, seen)
    if label is None or label["version"] == product.version:
        return {}
    return {column: label[name] for name, column in COLUMNS.items()}


def check_label_seen(product: Product, seen: Stop | None) -> list[Flag]:
    """Return that the limits of a label differ from those that the crew saw."""
    label, today = _label_seen(product, seen), told_product(product)
    if label is None:
        return []
    changed = [
        name for name in today if name not in STANDS_FOR_ITSELF and label.get(name) != today[name]
    ]
    if not changed:
        return []
    facts = {"product": product.name, "what": ", ".join(changed)}
    return [flag_of(_warning("label-changed", LABEL_CHANGED, facts))]


def _label_seen(product: Product, seen: Stop | None) -> Stop | None:
    products = seen["products"] if seen else []
    return next((each for each in products if each["id"] == product.pk), None)


def _warning(code: str, sentence: str, facts: dict[str, Any]) -> Finding:
    return Finding(code, Severity.WARNING, sentence, facts=facts, source="common practice")

"""Reports from phones as the office reads them: who, when, what was told, what is odd."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import get_language, gettext
from django.utils.translation import gettext_lazy as _

from services.asked_of_crews import TYPED_FOR
from services.field.reviewing import SECOND, is_draft, others_of, told_by
from services.models import FieldEvent
from services.showing.today import yard_zone
from treatments.models import ApplicationRecord

WORDS = {
    "started_at": _("started"),
    "posted_at": _("sign put up at"),
    "applicator": _("who applied"),
    "supervisor": _("under whom"),
    "conditions": _("air"),
    "wind_mph": _("wind"),
    "wind_direction": _("wind from"),
    "temperature_f": _("temperature"),
    "humidity_percent": _("humidity"),
    "hours_to_rain": _("next rain in"),
    "reports": _("applied"),
    "applications": _("applied"),
    "planting": _("planting"),
    "product": _("product"),
    "product_name": _("product"),
    "lot": _("lot"),
    "product_amount": _("product used"),
    "mix_gallons": _("gallons sprayed"),
    "where": _("where"),
    "on": _("on what"),
    "note": _("note"),
    "text": _("note"),
    "reason": _("reason"),
    "changes": _("to be put right"),
    "left_out": _("left out"),
    "why": _("why"),
    "event": _("event"),
} | dict(TYPED_FOR.values())


@dataclass(frozen=True, slots=True)
class Report:
    """A report from a phone with all that its page shows."""

    event: FieldEvent
    zone: ZoneInfo
    facts: list[tuple[str, str]]
    flags: list[str]
    missing: list[str]
    records: list[ApplicationRecord]
    others: list[ApplicationRecord]
    is_draft: bool


def report_shown(event: FieldEvent) -> Report:
    """Return a report as its page shows it, in the language that is spoken now."""
    records = list(event.records.order_by("number"))
    return Report(
        event=event,
        zone=zone_of(event),
        facts=list(facts_in(told_by(event).get("body", {}))),
        flags=list(dict.fromkeys([*flags_said(event), *(_second_said(event) if records else [])])),
        missing=missing_said(event),
        records=records,
        others=list(others_of(event)) if records else [],
        is_draft=is_draft(event),
    )


def zone_of(event: FieldEvent) -> ZoneInfo:
    """Return the zone in which the times of a report are told."""
    return event.visit.course.property.zone() if event.visit else yard_zone()


def flags_said(event: FieldEvent) -> list[str]:
    """Return what is odd about a report in sentences; what was refused says why."""
    if event.device_id is None:
        records = event.records.order_by("number")
        flags = {str(each): each for record in records for each in record.flags}
        return [gettext(flag["sentence"]) % flag["facts"] for flag in flags.values()]
    problem = event.reply.get("problem")
    if problem:
        return [str(problem["detail"])]
    language = get_language() or "en"
    return [flag.get(language, flag["en"]) for flag in event.reply.get("flags", [])]


def _second_said(event: FieldEvent) -> list[str]:
    """Return what another report of the same visit says of being the second."""
    flags = [flag for each in others_of(event) for flag in each.flags if flag["code"] == SECOND]
    return [gettext(flag["sentence"]) % flag["facts"] for flag in flags[:1]]


def missing_said(event: FieldEvent) -> list[str]:
    """Return what is missing before a draft is a record."""
    return [
        f"{each['field']}: {each['said']}" if each["field"] else each["said"]
        for each in event.reply.get("missing", [])
    ]


def facts_in(body: Any, before: str = "") -> Iterator[tuple[str, str]]:
    """Yield what a body says, field by field, in words where there are any."""
    if isinstance(body, Mapping):
        for name, value in body.items():
            word = str(WORDS.get(name, name))
            yield from facts_in(value, f"{before}, {word}" if before else word)
    elif isinstance(body, list):
        for place, value in enumerate(body, start=1):
            yield from facts_in(value, f"{before} {place}")
    elif body not in (None, ""):
        yield before, str(body)

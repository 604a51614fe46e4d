"""Reports from phones as the office reads them: who, when, what was told, what is odd."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.dateparse import parse_datetime
from django.utils.translation import get_language, gettext
from django.utils.translation import gettext_lazy as _

from clients.models import Planting
from services.asked_of_crews import TYPED_FOR
from services.field.reviewing import SECOND, is_draft, others_of, told_by
from services.models import FieldEvent
from services.sheets import dates
from services.showing.today import yard_zone
from treatments.models import ApplicationRecord, Applicator, Lot, Product, Sprayer
from treatments.saying import say_flag

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
    "sprayer": _("sprayer"),
} | dict(TYPED_FOR.values())
UNITS = {
    "wind_mph": "mph",
    "temperature_f": "°F",
    "humidity_percent": "%",
    "hours_to_rain": _("hours"),
    "mix_gallons": "gal",
}
MOMENTS = {"started_at", "posted_at"}
NAMED: dict[str, Any] = {
    "applicator": Applicator,
    "supervisor": Applicator,
    "planting": Planting,
    "product": Product,
    "lot": Lot,
    "sprayer": Sprayer,
}


@dataclass(frozen=True, slots=True)
class Report:
    """A report from a phone with all that its page shows."""

    event: FieldEvent
    zone: ZoneInfo
    flags: list[str]
    missing: list[str]
    records: list[ApplicationRecord]
    others: list[ApplicationRecord]
    is_draft: bool

    def facts(self) -> list[tuple[str, str]]:
        """Return what the phone told, field by field, in words."""
        return list(facts_in(told_by(self.event).get("body", {}), self.zone))


def report_shown(event: FieldEvent) -> Report:
    """Return a report as its page shows it, in the language that is spoken now."""
    records = list(event.records.order_by("number"))
    return Report(
        event=event,
        zone=zone_of(event),
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
        return [say_flag(flag) for flag in flags.values()]
    problem = event.reply.get("problem")
    if problem:
        return [str(problem["detail"])]
    language = get_language() or "en"
    return [flag.get(language, flag["en"]) for flag in event.reply.get("flags", [])]


def _second_said(event: FieldEvent) -> list[str]:
    """Return what another report of the same visit says of being the second."""
    flags = [flag for each in others_of(event) for flag in each.flags if flag["code"] == SECOND]
    return [say_flag(flag) for flag in flags[:1]]


def missing_said(event: FieldEvent) -> list[str]:
    """Return what is missing before a draft is a record."""
    return [
        f"{_place_said(each['field'])}: {_lack_said(each)}" if each["field"] else each["said"]
        for each in event.reply.get("missing", [])
    ]


def _place_said(path: str) -> str:
    """Return the place of a field in what was told, in words where there are any."""
    names = [name for name in path.split(".") if not name.isdecimal()]
    return ", ".join(str(WORDS.get(name, name)) for name in names)


def _lack_said(missing: Mapping[str, Any]) -> str:
    """Return what is wrong with a field; a number in the book says nothing to a reader."""
    is_unknown = missing["code"] == "does_not_exist"
    return gettext("this one is not in the book.") if is_unknown else missing["said"]


def facts_in(body: Any, zone: ZoneInfo, before: str = "") -> Iterator[tuple[str, str]]:
    """Yield what a body says, field by field, in words where there are any."""
    if isinstance(body, Mapping):
        for name, value in body.items():
            word = str(WORDS.get(name, name))
            place = f"{before}, {word}" if before else word
            yield from facts_in(_fact_said(name, value, body, zone), zone, place)
    elif isinstance(body, list):
        for number, value in enumerate(body, start=1):
            yield from facts_in(value, zone, f"{before} {number}")
    elif body not in (None, ""):
        yield before, str(body)


def _fact_said(name: str, value: Any, body: Mapping[str, Any], zone: ZoneInfo) -> Any:
    """Return a fact with its unit, a moment by the place's clocks, and the name of what it means.

    body: the facts that stand beside it
    """
    if name in MOMENTS and isinstance(value, str):
        moment = _moment(value)
        return dates.day_and_clock(moment.astimezone(zone), _language()) if moment else value
    if name in NAMED and type(value) is int:
        return NAMED[name].objects.filter(pk=value).first() or value
    unit = _stock_unit(body) if name == "product_amount" else UNITS.get(name)
    return f"{value} {unit}" if unit and isinstance(value, (int, str)) and value != "" else value


def _stock_unit(body: Mapping[str, Any]) -> str:
    """Return the unit of a lot or a product that is named, or an empty text."""
    lot, product = body.get("lot"), body.get("product")
    products = Product.objects.none()
    if type(lot) is int:
        products = Product.objects.filter(lots=lot)
    elif type(product) is int:
        products = Product.objects.filter(pk=product)
    found = products.first()
    return found.get_stock_unit_display() if found else ""


def _moment(text: str) -> datetime | None:
    try:
        moment = parse_datetime(text)
    except ValueError:
        return None
    return moment if moment and moment.tzinfo else None


def _language() -> str:
    return get_language() or "en"

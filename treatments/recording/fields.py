"""What a record says in each field of the record rules."""

from collections.abc import Callable
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _

from treatments.models import ApplicationRecord
from treatments.models.answers import COLUMNS
from treatments.recording.clocks import done_there
from treatments.rules.records import Circumstances
from treatments.rules.units import Basis

# Amounts are told with what they are counted in.
UNITS: dict[str, Callable[[ApplicationRecord], str]] = {
    "rate": lambda record: record.rate_basis,
    "product_amount": lambda record: record.product_unit,
    "mix_gallons": lambda record: "gal",
    "treated_area_sq_ft": lambda record: "sq ft",
    "wind_mph": lambda record: "mph",
    "temperature_f": lambda record: "°F",
}


def fields_of(record: ApplicationRecord) -> dict[str, str]:
    """Return what a record says in each field of the rules, as text; "" where it is silent."""
    day = done_there(record).date().isoformat()
    return _said(record, _text) | {"application_date": day}


def answers_of(record: ApplicationRecord) -> dict[str, object]:
    """Return by what a record answers each field of the rules, as it was kept; "" where silent."""
    return _said(record, getattr)


def _said(record: ApplicationRecord, read: Callable[[ApplicationRecord, str], Any]) -> dict:
    said = dict.fromkeys(COLUMNS, "")
    for field, columns in COLUMNS.items():
        for name in columns:
            if (it := read(record, name)) not in (None, ""):
                said[field] = it
                break
    said["dilution"] = said["dilution"] or dilution_of(record)
    said["applicator_license_no"] = said["applicator_license_no"] or _supervisors_number(record)
    return said


def _supervisors_number(record: ApplicationRecord) -> str:
    number = record.supervisor_licence_number
    return f"{number} ({record.supervisor_name})" if number else ""


def _differ(address: str, other: str) -> bool:
    return address != other and _signs(address) != _signs(other)


def _signs(address: str) -> str:
    return "".join(filter(str.isalnum, address.casefold()))


def _text(record: ApplicationRecord, column: str) -> str:
    value = getattr(record, column)
    if value is None or value == "":
        return ""
    if isinstance(value, datetime):
        return f"{value.astimezone(done_there(record).tzinfo):%Y-%m-%d %H:%M}"
    text = f"{value.normalize():f}" if isinstance(value, Decimal) else str(value)
    return f"{text} {unit_of(record, column)}".strip()


def unit_of(record: ApplicationRecord, column: str) -> str:
    """Return in what a column of a record is counted, "" where it is no amount."""
    return UNITS[column](record) if column in UNITS else ""


def dilution_of(record: ApplicationRecord) -> str:
    """Return product and finished spray side by side, which is the dilution."""
    amounts = {"product": _text(record, "product_amount"), "spray": _text(record, "mix_gallons")}
    return _("%(product)s in %(spray)s") % amounts


def circumstances_of(record: ApplicationRecord) -> Circumstances:
    """Return what decides which fields the rules ask of a record."""
    return Circumstances(
        restricted_use=record.restricted_use,
        reentry_stated=bool(record.reentry_at or record.reentry_words),
        site_differs=_differ(record.site_address, record.customer_address),
        supervised=bool(record.supervisor_name),
        noncertified_applicator=bool(record.uncertified_applicator_name),
        rate_per_area=not Basis(record.rate_basis).is_concentration,
        production_site=record.production_site,
        permit=bool(record.permit_number),
        incident=bool(record.incident),
        disposal=bool(record.disposal),
    )

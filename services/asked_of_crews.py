"""What the rules of a place want to know of an application and nobody but its crew can say."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from services.models import Visit
from treatments.models import ApplicationRecord
from treatments.rulebook import Binding, rules_at
from treatments.rules.records import Circumstances, fields_needed

METHOD = "method"
# Field of the rules to the column of the record and what is typed.
TYPED_FOR = {
    "weather_conditions": ("weather", gettext_lazy("other weather")),
    "method_or_equipment": (METHOD, gettext_lazy("equipment, where none of yours is named")),
    "supplier_name": ("supplier_name", gettext_lazy("bought from")),
    "permit_no": ("permit_number", gettext_lazy("permit number, where one is needed")),
    "insurance": ("insurance", gettext_lazy("liability insurer and amount")),
    "disposal_notes": ("disposal", gettext_lazy("what was disposed of, and how")),
    "worker_protection_exchange": (
        "worker_protection_exchange",
        gettext_lazy("who was told at the nursery, and when"),
    ),
}


@dataclass(frozen=True, slots=True)
class Typed:
    """A field of the record that the crew types: its column, its label, who asks, how long."""

    name: str
    label: str
    asked_by: str
    longest: int


def asked_at(visit: Visit, day: date) -> dict[str, str]:
    """Return who asks for each field of the record at a stop, in words, by the field's name."""
    product, place = visit.rotation_week.product, visit.course.property
    if product is None:
        return {}
    binding = Binding(day, product.restricted_use, place.production_site)
    circumstances = Circumstances(
        restricted_use=product.restricted_use,
        production_site=place.production_site,
        permit=True,
        disposal=True,
    )
    rules = rules_at(place.jurisdiction, binding)
    needed = fields_needed(place.jurisdiction, day, circumstances, rules)
    return {
        each.field: _("asked by %(rules)s") % {"rules": ", ".join(each.asked_by)}
        for each in needed
        if each.asked_by
    }


def typed_at(asked: Mapping[str, str]) -> Iterator[Typed]:
    """Yield what a crew types where these fields are asked for, in the language spoken now."""
    for field, (name, label) in TYPED_FOR.items():
        if field in asked:
            yield Typed(name, str(label), asked[field], longest(name))


def longest(name: str) -> int:
    """Return how many signs a column of the record takes."""
    column: Any = ApplicationRecord._meta.get_field(name)
    return column.max_length

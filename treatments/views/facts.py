"""A fact for `parts/_facts.html`, and what the label of a product says as such facts."""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy, ngettext

from treatments.models import Product
from treatments.rules.signal_words import in_both_languages

EQUIPMENT = dict(Product._meta.get_field("protective_equipment").codes)

# Limits of the label with their units, in the order in which a label names them.
LIMITS = [
    ("minimum_interval_days", gettext_lazy("days")),
    ("separation_days", gettext_lazy("days")),
    ("maximum_applications_per_year", ""),
    ("preharvest_days", gettext_lazy("days")),
    ("wind_maximum_mph", "mph"),
    ("temperature_minimum_f", "°F"),
    ("temperature_maximum_f", "°F"),
    ("rainfast_hours", gettext_lazy("hours")),
    ("water_ph_maximum", ""),
    ("water_buffer_ft", "ft"),
    ("well_buffer_ft", "ft"),
    ("edible_buffer_ft", "ft"),
]


@dataclass(frozen=True, slots=True)
class Fact:
    """A term and what it is; a value that is empty reads "not stated"."""

    label: object
    value: object = ""
    unit: object = ""
    source: object = ""
    url: str = ""
    is_whole: bool = False


def plain(amount: Decimal | None) -> str | Decimal:
    """Return an amount without the zeros at its end, or an empty text."""
    return "" if amount is None else Decimal(f"{amount.normalize():f}")


def label_facts(product: Product) -> Iterator[Fact]:
    """Yield what the label of a product says, front panel first; it was read `with_labels`."""
    yield Fact(_("EPA registration number"), product.epa_registration_number)
    yield Fact(_("Registrant"), product.registrant)
    yield Fact(_("Signal word"), in_both_languages(product.signal_word))
    yield Fact(_("Use"), _("restricted use") if product.restricted_use else _("general use"))
    yield Fact(_("Active ingredients"), ", ".join(_contents(product)))
    yield Fact(_("Formulation"), product.get_formulation_code_display())
    yield Fact(_("First aid"), product.first_aid)
    yield Fact(_("Protective equipment"), ", ".join(_equipment(product)))
    yield Fact(_("Re-entry"), _reentry(product))
    yield Fact(_("Flowers and bees"), product.get_bloom_rule_display(), source=product.bee_advisory)
    for name, unit in LIMITS:
        yield _limit(product, name, unit)
    yield _amount(product, "maximum_amount_per_application")
    yield _amount(product, "maximum_amount_per_year")
    for content in product.contents.all():
        if (most := content.maximum_pounds_per_acre_per_year) is not None:
            title = _("Most %(ingredient)s a year") % {"ingredient": content.ingredient}
            yield Fact(title, plain(most), _("lb an acre, from all products"))
    yield Fact(_("Plants the label forbids"), ", ".join(product.plants_excluded))
    yield Fact(_("Organic use"), _("listed") if product.organic_listed else _("not listed"))
    yield Fact(_("Certificate category"), product.certificate_category)
    yield Fact(_("Label date or version"), product.label_version)


def _limit(product: Product, name: str, unit: object) -> Fact:
    value = getattr(product, name)
    shown = plain(value) if isinstance(value, Decimal) else "" if value is None else value
    return Fact(_title(name), shown, unit if shown != "" else "")


def _amount(product: Product, name: str) -> Fact:
    amount = plain(getattr(product, name))
    return Fact(_title(name), amount, product.amount_basis if amount != "" else "")


def _title(name: str) -> str:
    """Return what a column is called, without the unit that follows the number on the page.

    The signs of "pH" are left as they are, wherever it stands.
    """
    column: Any = Product._meta.get_field(name)
    words = str(column.verbose_name).partition(" (")[0]
    return words if words.startswith("pH") else capfirst(words)


def _contents(product: Product) -> Iterator[str]:
    for content in product.contents.all():
        group = group_of(content.ingredient)
        yield f"{content} ({group})" if group else str(content)


def group_of(ingredient) -> str:
    """Return the mode of action of an ingredient with the name of its list."""
    if ingredient.irac_group:
        return f"IRAC {ingredient.irac_group}"
    return f"FRAC {ingredient.frac_group}" if ingredient.frac_group else ""


def _equipment(product: Product) -> Iterator[str]:
    return (str(EQUIPMENT.get(code, code)) for code in product.protective_equipment)


def hours_said(hours: Decimal) -> str:
    """Return after how many hours it is."""
    words = ngettext("after %(hours)s hour", "after %(hours)s hours", 1 if hours == 1 else 2)
    return words % {"hours": plain(hours)}


def _reentry(product: Product) -> str:
    parts = []
    if product.reentry_hours is not None:
        parts.append(hours_said(product.reentry_hours))
    if product.reentry_until_dry:
        parts.append(_("when the spray has dried"))
    return "; ".join(parts)

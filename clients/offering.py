"""Which plantings a form offers: a book may have more of them than a page can take."""

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms
from django.db.models import Q
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from clients.models import Planting

MOST_OFFERED = 200  # our own choice


def is_key(text: str) -> bool:
    """Tell whether a text of an address may be the id of a row."""
    return text.isdecimal() and len(text) < 10


def words_of(text: str) -> str:
    """Return the words that are looked for, without the sign that no database takes."""
    return text.replace("\0", "").strip()


def with_words(plantings: Any, words: str) -> Any:
    """Pick the plantings in whose names, or those of their property or client, words occur."""
    if not words:
        return plantings
    return plantings.filter(
        Q(name__icontains=words)
        | Q(common_name__icontains=words)
        | Q(property__name__icontains=words)
        | Q(property__client__name__icontains=words)
    )


def offered_of(plantings: Any, chosen: Iterable[Any], everything: Any) -> list[Planting]:
    """Return the first plantings by property, and of everything those that are chosen already."""
    rows = plantings.order_by("property__name", "property_id", "name")[:MOST_OFFERED]
    shown = {planting.pk: planting for planting in rows}
    keys = {int(key) for key in map(str, chosen) if is_key(key)} - set(shown)
    return [*shown.values(), *(everything.filter(pk__in=keys) if keys else ())]


def said_of_many() -> str:
    """Return the sentence that not all are offered."""
    said = gettext("The first %(number)s are offered; look for others by their words.")
    return said % {"number": MOST_OFFERED}


def only_looks(sent: Mapping[str, Any], needed: str) -> bool:
    """Tell whether a form was sent to look for words, and not yet to be answered."""
    return "look" in sent or bool(sent.get("words") and not sent.get(needed))


def words_field() -> forms.CharField:
    """Return the field in which words are typed, with a button beside it."""
    label = _("Offer plantings with these words")
    field: Any = forms.CharField(label=label, max_length=200, required=False)
    field.template_name = "clients/_words_field.html"
    return field


class OfferingForm(forms.Form):
    """A form in which plantings are chosen; of many it offers those with the words typed in it.

    among: the name of the field in which they are chosen; its plantings are loaded with their
        properties and clients
    """

    among = "plantings"

    words = words_field()

    def offer(self) -> None:
        """Offer plantings before the form is shown; where they are few no words are asked for."""
        field: Any = self.fields[self.among]
        words = words_of(self["words"].value() or "")
        asking = self[self.among]
        value = asking.value()
        chosen = value if isinstance(value, list) else [value]
        shown = offered_of(with_words(field.queryset, words), chosen, field.queryset)
        if len(shown) >= MOST_OFFERED:
            asking.help_text = f"{asking.help_text} {said_of_many()}".strip()
        elif not words:
            del self.fields["words"]
        none_chosen = [("", field.empty_label)] if field.empty_label else []
        named = [(each.pk, f"{each}, {each.property.client}") for each in shown]
        field.choices = none_chosen + named

"""How every form is set: one column, unit after the field, dates picked or typed."""

import re
from decimal import Decimal

from django.db.models.fields import BLANK_CHOICE_DASH
from django.forms import BoundField, ModelChoiceField
from django.forms.models import ModelChoiceIterator
from django.forms.renderers import TemplatesSetting
from django.forms.widgets import (
    CheckboxInput,
    DateInput,
    DateTimeInput,
    NumberInput,
    Select,
    Textarea,
    TimeInput,
)
from django.utils.translation import gettext_lazy as _

from treatments.rules.findings import plainly

# The unit stands at the end of a field's name, so that is where it is read.
UNITS = {
    "gallons_per_1000_sq_ft": _("gallons in 1,000 sq ft"),
    "gallons_per_minute": _("gallons a minute"),
    "gallons": _("gallons"),
    "sq_ft": _("sq ft"),
    "fl_oz": _("fl oz"),
    "oz": _("oz"),
    "ft": _("ft"),
    "mph": _("mph"),
    "psi": _("psi"),
    "percent": "%",
    "f": "°F",
    "miles": _("miles"),
    "minutes": _("minutes"),
    "hours": _("hours"),
    "days": _("days"),
    "weeks": _("weeks"),
}

# What a browser's own picker sends and wants to be given, in ISO 8601.
PICKED = {
    DateInput: ("date", "%Y-%m-%d"),
    TimeInput: ("time", "%H:%M"),
    DateTimeInput: ("datetime-local", "%Y-%m-%dT%H:%M"),
}
NOTHING_CHOSEN = BLANK_CHOICE_DASH[0][1]
OFFERED = re.compile(r'<(?:option|input)\b[^>]* value="[^"]')  # something that can be chosen
UNIT_IN_LABEL = re.compile(r" \([^()]*\)$")
DEFAULT_ROWS, ROWS = "10", "4"


class BookField(BoundField):
    """A field on the page, with what its template asks."""

    rendered = None  # as it was set last, so that the book is not asked once more

    def title(self):
        """Return what the field is called, without the unit that stands after it."""
        return UNIT_IN_LABEL.sub("", str(self.label)) if self.unit() else self.label

    def value(self):
        """Return what stands in the field; a kept amount without needless zeros."""
        value = super().value()
        return Decimal(str(plainly(value))) if isinstance(value, Decimal) else value

    def unit(self):
        """Return the unit the field is typed in: its own `unit`, or the one its name ends in."""
        if not isinstance(self.field.widget, NumberInput):
            return getattr(self.field, "unit", "")
        ends = (unit for end, unit in UNITS.items() if f"_{self.name}".endswith(f"_{end}"))
        return getattr(self.field, "unit", next(ends, ""))

    def is_tick(self):
        """Say whether the field is a single box to tick."""
        return isinstance(self.field.widget, CheckboxInput)

    def has_steps(self):
        """Say whether the number is small enough for a button on either side: it has a step."""
        return getattr(self.field, "step_size", None) is not None

    def offers_nothing(self):
        """Say whether a list from the book was set without anything to choose from."""
        is_list = isinstance(self.field, ModelChoiceField)
        return is_list and self.rendered is not None and not OFFERED.search(self.rendered)

    def as_widget(self, widget=None, attrs=None, only_initial=False):
        widget = widget or self.field.widget
        if isinstance(widget, Select):
            self.name_nothing_chosen(widget)
        if isinstance(widget, Textarea) and widget.attrs.get("rows") == DEFAULT_ROWS:
            widget.attrs["rows"] = ROWS
        if self.errors and type(widget) in {NumberInput, *PICKED}:
            widget.input_type = "text"  # a picker would drop what it cannot read
        elif type(widget) in PICKED:
            widget.input_type, widget.format = PICKED[type(widget)]
        self.rendered = super().as_widget(widget, attrs, only_initial)
        return self.rendered

    def name_nothing_chosen(self, widget):
        """Put a word where a list of choices would begin with a row of hyphens."""
        word = _("choose") if self.field.required else "–"
        if not isinstance(widget.choices, ModelChoiceIterator):
            widget.choices = [
                (value, word if label == NOTHING_CHOSEN else label)
                for value, label in widget.choices
            ]
        elif (listed := widget.choices.field).empty_label == NOTHING_CHOSEN:
            listed.empty_label = word


class BookRenderer(TemplatesSetting):
    """Sets forms with the book's own templates; widgets stay Django's."""

    form_template_name = "parts/_form.html"
    formset_template_name = "parts/_formset.html"
    field_template_name = "parts/_field.html"
    bound_field_class = BookField

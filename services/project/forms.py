"""How every form is set: one column, unit after the field, dates picked or typed."""

from django.forms import BoundField
from django.forms.renderers import TemplatesSetting
from django.forms.widgets import CheckboxInput, DateInput, DateTimeInput, NumberInput, TimeInput
from django.utils.translation import gettext_lazy as _

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


class BookField(BoundField):
    """A field on the page, with what its template asks."""

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

    def as_widget(self, widget=None, attrs=None, only_initial=False):
        widget = widget or self.field.widget
        if self.errors and type(widget) in {NumberInput, *PICKED}:
            widget.input_type = "text"  # a picker would drop what it cannot read
        elif type(widget) in PICKED:
            widget.input_type, widget.format = PICKED[type(widget)]
        return super().as_widget(widget, attrs, only_initial)


class BookRenderer(TemplatesSetting):
    """Sets forms with the book's own templates; widgets stay Django's."""

    form_template_name = "parts/_form.html"
    formset_template_name = "parts/_formset.html"
    field_template_name = "parts/_field.html"
    bound_field_class = BookField

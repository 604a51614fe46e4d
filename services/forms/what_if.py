"""What a person asks of a plan: what if a week comes later, or repeats the product before it."""

from typing import Any, cast

from django import forms
from django.utils.translation import gettext_lazy as _

SLIP, REPEAT = "slip", "repeat"
MOST_DAYS = 21


class WhatIfForm(forms.Form):
    """One change of one week that is still to come."""

    week = forms.TypedChoiceField(label=_("week"), coerce=int)
    change = forms.ChoiceField(
        label=_("what if it"),
        choices=[
            (SLIP, _("comes later")),
            (REPEAT, _("takes the product of the week before again")),
        ],
        initial=SLIP,
    )
    days = forms.IntegerField(
        label=_("how much later"),
        min_value=1,
        max_value=MOST_DAYS,
        initial=5,
        required=False,
        help_text=_("Only where it comes later."),
    )
    later_too = forms.BooleanField(
        label=_("the later weeks move along"), required=False, initial=True
    )

    def __init__(self, query, *, weeks: list[int]):
        super().__init__(query if query and "change" in query else None)
        self.weeks = cast(forms.TypedChoiceField, self.fields["week"])
        self.weeks.choices = [(week, week) for week in weeks]
        days: Any = self.fields["days"]
        days.unit = _("days")

    def clean_days(self) -> int:
        """Return the days, the usual ones where none were typed."""
        return self.cleaned_data["days"] or self.fields["days"].initial

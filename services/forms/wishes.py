"""What a client wishes: how to be written to, and another day for a visit."""

from datetime import date, timedelta
from typing import cast

from django import forms
from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _

from clients.models import Client
from services.models import Visit
from services.sheets.dates import long_day


class WishesForm(forms.ModelForm):
    """The language of letters, and which of them a client wants."""

    wants_letters = forms.BooleanField(
        label=_("mail me what was done, and what you propose"), required=False
    )

    class Meta:
        model = Client
        fields = ["language", "wants_notice"]
        labels = {"wants_notice": _("tell me before each visit")}
        help_texts = {"language": ""}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["wants_letters"].initial = self.instance.letters_stopped_on is None

    def stop_or_begin(self, today: date) -> None:
        """Note on the card since when letters are stopped, or that they come again."""
        if self.cleaned_data["wants_letters"]:
            self.instance.letters_stopped_on = None
        elif self.instance.letters_stopped_on is None:
            self.instance.letters_stopped_on = today


class DayAskedForm(forms.Form):
    """Another of the days of a visit, or in words what would do."""

    day = forms.TypedChoiceField(
        label=_("another day"),
        coerce=date.fromisoformat,
        empty_value=None,
        required=False,
        widget=forms.RadioSelect,
    )
    words = forms.CharField(
        label=_("what we should know"),
        required=False,
        max_length=400,
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    def __init__(self, *args, visit: Visit, today: date, **kwargs):
        super().__init__(*args, **kwargs)
        days = [
            visit.earliest + timedelta(days=place)
            for place in range((visit.latest - visit.earliest).days + 1)
        ]
        offered = [day for day in days if day > today and day != visit.planned]
        cast(forms.TypedChoiceField, self.fields["day"]).choices = [
            *((day.isoformat(), long_day(day, get_language())) for day in offered),
            ("", _("none of these: call me")),
        ]

    def clean(self):
        """Ask for one of the two."""
        super().clean()
        typed = self.cleaned_data
        if not self.errors and not typed.get("day") and not typed.get("words"):
            self.add_error("words", _("Choose a day, or write which would do."))
        return typed


class KeepDayForm(forms.Form):
    """Why a visit stays on its day, as the client is told."""

    reply = forms.CharField(
        label=_("what the client is told"), max_length=400, widget=forms.Textarea(attrs={"rows": 3})
    )

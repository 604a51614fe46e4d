"""What a person asks of what visits cost and earn."""

from datetime import date, timedelta

from django import forms
from django.db.models import TextChoices
from django.utils.translation import gettext_lazy as _


class By(TextChoices):
    """What a row stands for."""

    VISIT = "visit", _("visit")
    COURSE = "course", _("course")
    CLIENT = "client", _("client")


COLUMNS = [
    ("name", _("Name")),
    ("day", _("Day")),
    ("visits", _("Visits")),
    ("labour", _("Work (min)")),
    ("travel", _("Way (min)")),
    ("miles", _("Way (miles)")),
    ("product", _("Product (USD)")),
    ("cost", _("Cost (USD)")),
    ("charge", _("Charge (USD)")),
    ("margin", _("Margin (USD)")),
]
SHOWN_AT_FIRST = timedelta(days=90)  # our own choice
SORTS = [f"{sign}{name}" for name, _label in COLUMNS for sign in ("", "-")]


class PeriodForm(forms.Form):
    """The first and the last day of a period."""

    first = forms.DateField(label=_("from"))
    last = forms.DateField(label=_("until"))

    def clean(self):
        super().clean()
        first, last = self.cleaned_data.get("first"), self.cleaned_data.get("last")
        if first and last and first > last:
            self.add_error("last", _("The period ends after it begins."))
        return self.cleaned_data


class EarningsForm(PeriodForm):
    """Which visits, and what a row stands for."""

    by = forms.ChoiceField(label=_("a row for each"), choices=By.choices)
    sort = forms.ChoiceField(
        choices=[(each, each) for each in SORTS], required=False, widget=forms.HiddenInput
    )


def asked_of(query, today: date) -> dict:
    """Return what was asked for, the last ninety days by visit where nothing was."""
    usual = {
        "first": (today - SHOWN_AT_FIRST).isoformat(),
        "last": today.isoformat(),
        "by": By.VISIT.value,
        "sort": "-day",
    }
    return usual | {name: query[name] for name in usual if query.get(name)}

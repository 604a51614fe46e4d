"""What came between: a day on which nobody works, a crew that is not there, or visits put off."""

from django import forms
from django.db.models import TextChoices
from django.utils.translation import gettext_lazy as _

from services.models import Crew


class What(TextChoices):
    """What came between."""

    DAY = "day", _("no crew can work")
    CREW = "crew", _("one crew is not there")
    NOTHING = "nothing", _("visits lost their crew, every crew is there")


class ReplanForm(forms.Form):
    """What came between, on which days, and whether other visits are to get a crew as well."""

    what = forms.ChoiceField(
        label=_("what came between"), choices=What.choices, widget=forms.RadioSelect
    )
    crew = forms.ModelChoiceField(
        label=_("crew"),
        queryset=Crew.objects.filter(retired=False),
        required=False,
        empty_label=_("no crew in particular"),
    )
    first = forms.DateField(label=_("from"))
    last = forms.DateField(
        label=_("to"), required=False, help_text=_("Left empty, it is the one day.")
    )
    with_others = forms.BooleanField(
        label=_("give a crew to visits of these days that have none"), required=False
    )

    def clean(self):
        """Ask for a crew where one is not there, and for days in order."""
        typed = super().clean() or self.cleaned_data
        if typed.get("what") == What.CREW and not typed.get("crew"):
            self.add_error("crew", _("Say which crew is not there."))
        first, last = typed.get("first"), typed.get("last")
        if first and last and not first <= last:
            self.add_error("last", _("The last day comes after the first."))
        elif first and last and (last - first).days > 30:
            self.add_error("last", _("At most 31 days are planned anew at once."))
        return typed

    def asked(self):
        """Return what was typed as the action takes it."""
        typed = self.cleaned_data
        crews = {
            What.DAY: list(Crew.objects.filter(retired=False)),
            What.CREW: [typed["crew"]],
            What.NOTHING: [],
        }
        return {
            "lost_from": typed["first"],
            "lost_until": typed["last"] or typed["first"],
            "crews": crews[typed["what"]],
            "with_others": typed["with_others"],
        }

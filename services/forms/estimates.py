"""What a person types of an estimate, and what a client answers."""

from datetime import timedelta
from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from services.forms.courses import NewCourseForm
from services.models import EstimateAnswer

USUALLY_VALID = timedelta(days=30)  # our own choice


class EstimateForm(NewCourseForm):
    """The rotation and plantings of a proposal, until when it is valid, and words to the client."""

    valid_until = forms.DateField(label=_("valid until"))
    note = forms.CharField(
        label=_("words to the client"), required=False, max_length=1000, widget=forms.Textarea
    )
    form_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)

    def clean_plantings(self):
        """Refuse plantings of several properties: each has an estimate of its own."""
        plantings = self.cleaned_data["plantings"]
        if len({planting.property_id for planting in plantings}) > 1:
            raise forms.ValidationError(_("An estimate is for plantings of one property."))
        return plantings


class PricesForm(forms.Form):
    """The price of each week: as it is reckoned, or as it was agreed."""

    def __init__(self, *args, weeks, **kwargs):
        super().__init__(*args, **kwargs)
        for each in weeks:
            self.fields[f"week_{each.visit.week}"] = self._field(each)

    def _field(self, each) -> forms.Field:
        why = each.charge.why_not
        field: Any = forms.DecimalField(
            label=_("week %(week)s (USD)") % {"week": each.visit.week},
            max_digits=9,
            decimal_places=2,
            min_value=0,
            initial=each.charge.amount,
            help_text=_(why) if why else "",
        )
        return field

    def prices(self):
        """Return the typed price of each week."""
        return {int(name.removeprefix("week_")): typed for name, typed in self.cleaned_data.items()}


class BeginForm(forms.Form):
    """From which day an accepted estimate is put on."""

    first_day = forms.DateField(label=_("first day"))


class AnswerForm(forms.Form):
    """A client's answer, and the paper it was given to."""

    answer = forms.ChoiceField(choices=EstimateAnswer.Answer.choices)
    paper = forms.CharField(max_length=64)
    words = forms.CharField(label=_("a word to us"), required=False, max_length=400)

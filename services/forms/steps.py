"""What a person types to plan one step without a spray."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from services.courses import take_step
from treatments.models import RotationWeek

WITHOUT_SPRAY = [
    choice for choice in RotationWeek.Step.choices if choice[0] != RotationWeek.Step.SPRAY
]


class StepForm(forms.Form):
    """Which step, and from which day on."""

    step = forms.ChoiceField(label=_("step"), choices=WITHOUT_SPRAY)
    day = forms.DateField(label=_("day"), widget=forms.DateInput)

    def take(self, planting, pest, by, today):
        """Plan the step; return its course, or None with the reason among the errors."""
        try:
            return take_step(planting=planting, pest=pest, by=by, today=today, **self.cleaned_data)
        except ValidationError as refused:
            self.add_error(None, refused)
            return None

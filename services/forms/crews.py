"""What a person types of yards, crews and trucks."""

from datetime import time

from django import forms
from django.utils.translation import gettext_lazy as _

from clients.forms import LyingForm, PropertyForm
from services.models import Crew, Technician, Truck, Yard
from services.models.crews import monday_to_saturday

# Our own choice: what most crews would type, to be changed where it differs.
USUAL = {"shift_starts": time(7), "shift_ends": time(16), "weekdays": monday_to_saturday()}


class YardForm(LyingForm, forms.ModelForm):
    """Where crews, trucks and the store are."""

    class Meta:
        model = Yard
        fields = ["name", "address", "latitude", "longitude", "time_zone", "supervisor_phone"]
        help_texts = {
            name: PropertyForm.base_fields[name].help_text for name in ("latitude", "longitude")
        }


class CrewForm(forms.ModelForm):
    """A crew: who is in it, and the hours of its shift."""

    people = forms.ModelMultipleChoiceField(
        label=_("people"),
        queryset=Technician.objects.filter(user__is_active=True).select_related("user"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=_("Those who sign in. Who is ticked leaves any other crew."),
    )
    field_order = ["name", "yard", "people"]

    class Meta:
        model = Crew
        fields = [
            "name",
            "yard",
            "shift_starts",
            "shift_ends",
            "lunch_minutes",
            "weekdays",
            "retired",
        ]
        widgets = {"shift_starts": forms.TimeInput, "shift_ends": forms.TimeInput}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        if self.instance.pk:
            self.fields["people"].initial = self.instance.technicians.all()
        else:
            self.initial = {**USUAL, **self.initial}
            del self.fields["retired"]

    def save(self, commit=True):
        crew, people = super().save(commit), self.cleaned_data["people"]
        crew.technicians.set(people)
        return crew


class TruckForm(forms.ModelForm):
    """A truck of a crew, with the sprayers on it."""

    class Meta:
        model = Truck
        fields = ["name", "crew", "water_gallons", "sprayers"]
        widgets = {"sprayers": forms.CheckboxSelectMultiple}

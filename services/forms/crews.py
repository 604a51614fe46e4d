"""What a person types of yards, crews and trucks."""

from django import forms

from clients.forms import LyingForm
from services.models import Crew, Truck, Yard


class YardForm(LyingForm, forms.ModelForm):
    """Where crews, trucks and the store are."""

    class Meta:
        model = Yard
        fields = ["name", "address", "latitude", "longitude", "time_zone", "supervisor_phone"]


class CrewForm(forms.ModelForm):
    """A crew with the hours of its shift."""

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


class TruckForm(forms.ModelForm):
    """A truck of a crew, with the sprayers on it."""

    class Meta:
        model = Truck
        fields = ["name", "crew", "water_gallons", "sprayers"]
        widgets = {"sprayers": forms.CheckboxSelectMultiple}

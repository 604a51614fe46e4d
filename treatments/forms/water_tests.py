"""What a person types after wetting a part of a planting with water."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from clients.models import Planting
from treatments.forms.refusals import tell
from treatments.models import Sprayer, WaterTest
from treatments.water_testing import keep_water_test


class WaterTestForm(forms.ModelForm):
    """A test with water: how much was wetted, and the water it took."""

    class Meta:
        model = WaterTest
        fields = [
            "strip_ft",
            "plants_tested",
            "water_amount",
            "water_unit",
            "sprayer",
            "tested_on",
            "note",
        ]

    def __init__(self, *args, planting: Planting, **kwargs):
        kwargs["instance"] = WaterTest(planting=planting)
        super().__init__(*args, **kwargs)
        self.planting = planting
        self.initial["tested_on"] = timezone.localdate(timezone=planting.property.zone())
        # The stubs know the fields of a form only as fields.
        sprayers: forms.ModelChoiceField = self.fields["sprayer"]  # type: ignore[assignment]
        sprayers.queryset = Sprayer.objects.filter(retired=False)

    def enter(self, by) -> WaterTest | None:
        """Keep the test; None where it is refused."""
        try:
            return keep_water_test(planting=self.planting, tested_by=by, **self.cleaned_data)
        except ValidationError as refused:
            tell(self, refused)
            return None

"""What a person types after looking at the leaves of a planting."""

from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from treatments.forms.refusals import tell
from treatments.models import ScoutingCount
from treatments.scouting import record_count

COUNTED = ["leaves_looked_at", "leaves_infested", "eggs", "larvae", "nymphs", "adults", "predators"]


class CountForm(forms.ModelForm):
    """A count: leaves looked at and infested, living pests by stage, natural enemies."""

    class Meta:
        model = ScoutingCount
        fields = ["pest", "scouted_at", *COUNTED, "note"]
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["scouted_at"].initial = timezone.now
        for name in COUNTED:
            field: Any = self.fields[name]
            field.step_size = 1
            field.widget.attrs["step"] = 1

    def clean_scouted_at(self):
        """Keep the minute: the picker sends no seconds, so that the same count is known again."""
        return self.cleaned_data["scouted_at"].replace(second=0, microsecond=0)

    def enter(self, planting, by) -> ScoutingCount | None:
        """Keep the count; None when it is refused."""
        try:
            return record_count(planting=planting, scouted_by=by, **self.cleaned_data)
        except ValidationError as refused:
            tell(self, refused)
            return None

"""What a person types after looking at the leaves of a planting."""

from decimal import Decimal
from operator import attrgetter
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from clients.models import Planting
from treatments.forms.refusals import tell
from treatments.models import Pest, ScoutingCount
from treatments.sampling_plans import PRECISIONS, USUAL_PRECISION, Plan, last_of, plan_for
from treatments.scouting import record_count

COUNTED = ["leaves_looked_at", "leaves_infested", "eggs", "larvae", "nymphs", "adults", "predators"]


class CountForm(forms.ModelForm):
    """A count: leaves looked at and infested, living pests by stage, natural enemies."""

    class Meta:
        model = ScoutingCount
        fields = ["pest", "scouted_at", *COUNTED, "untreated_reference", "note"]
        widgets = {"note": forms.Textarea(attrs={"rows": 3})}

    def __init__(self, *args, planting: Planting, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["scouted_at"].initial = timezone.now
        beside: Any = self.fields["untreated_reference"]
        beside.queryset = planting.property.plantings.exclude(pk=planting.pk)
        beside.label_from_instance = attrgetter("name")
        if not beside.queryset:
            del self.fields["untreated_reference"]
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


class PlanForm(forms.Form):
    """Which pest is looked for, and how sure the count is to be."""

    pest = forms.ModelChoiceField(Pest.objects.all(), label=_("pest"), empty_label=None)
    precision = forms.TypedChoiceField(
        label=_("how sure"),
        coerce=Decimal,
        help_text=_("Standard error of the mean, in percent of it."),
    )

    def __init__(self, query, *, planting: Planting, counts: list[ScoutingCount]):
        self.planting, self.counts = planting, counts
        pest = counts[-1].pest if counts else Pest.objects.first()
        begins = {"pest": pest, "precision": f"{USUAL_PRECISION}"}
        asked = query if query and "precision" in query else None
        super().__init__(asked, initial=begins, auto_id="plan_%s")
        precision: Any = self.fields["precision"]
        precision.choices = [(f"{each}", f"{100 * each:.0f} %") for each in PRECISIONS]

    def pest_planned(self) -> Pest | None:
        """Return which pest is looked for: the one asked for, or the one counted last."""
        return self._told()["pest"]

    def plan(self) -> Plan | None:
        """Return how to look, or None where there is no pest to look for."""
        pest = self.pest_planned()
        if pest is None:
            return None
        last = last_of(self.counts, pest)
        return plan_for(self.planting, pest, last, Decimal(self._told()["precision"]))

    def _told(self) -> Any:
        return self.cleaned_data if self.is_bound and self.is_valid() else self.initial

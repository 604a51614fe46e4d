"""What was left untreated of a visit's plantings, and why."""

from collections.abc import Sequence
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from clients.models import Planting
from services.completing import treated_in_part
from treatments.recording.flagging import Flag


class InPartForm(forms.Form):
    """Asked where a visit has several plantings; where all are left, the visit is held instead."""

    left = forms.TypedMultipleChoiceField(
        label=_("left untreated"),
        coerce=int,
        required=False,
        widget=forms.CheckboxSelectMultiple,
    )
    why_left = forms.CharField(label=_("why it was left"), max_length=1000, required=False)

    def offer_plantings(self, plantings: Sequence[Planting]) -> None:
        """Offer the plantings of a visit; a single one cannot be left."""
        if len(plantings) < 2:
            del self.fields["left"], self.fields["why_left"]
            return
        left: Any = self.fields["left"]
        left.choices = [(each.pk, each.name) for each in plantings]

    def is_left(self, planting: Planting) -> bool:
        """Say whether it was ticked that a planting was left, before the form is checked."""
        if "left" not in self.fields:
            return False
        ticked = self.fields["left"].widget.value_from_datadict(
            self.data, self.files, self.add_prefix("left")
        )
        return str(planting.pk) in map(str, ticked or [])

    def clean(self):
        """Ask why something was left, and that something was not."""
        typed = super().clean() or self.cleaned_data
        left = typed.get("left")
        if left and not typed.get("why_left"):
            self.add_error("why_left", _("Say why it was left untreated."))
        if left and len(left) == len(self.fields["left"].choices):  # type: ignore[attr-defined]
            self.add_error("left", _("Nothing was treated: hold the visit instead."))
        return typed

    def flags_in_part(self, plantings: Sequence[Planting]) -> tuple[Flag, ...]:
        """Return what is flagged of a visit that was treated in part."""
        left = [planting for planting in plantings if self.is_left(planting)]
        return tuple(treated_in_part(left, self.cleaned_data["why_left"])) if left else ()

    def note_in_part(self, note: str) -> str:
        """Return a note with the reason after it."""
        return "\n".join(part for part in (note, self.cleaned_data.get("why_left")) if part)

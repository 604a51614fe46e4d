"""What a person types of statements, payments and corrections."""

from typing import Any
from uuid import uuid4

from django import forms
from django.utils.translation import gettext_lazy as _

from clients.models import Property
from services.forms.earnings import PeriodForm
from services.models import ChargeCorrection, Payment, Visit
from treatments.forms.once import OnceForm


class PaymentForm(OnceForm, forms.ModelForm):
    """A payment that came."""

    amount = forms.DecimalField(
        label=_("amount (USD)"), max_digits=11, decimal_places=2, min_value=0
    )

    class Meta:
        model = Payment
        fields = ["day", "amount", "way", "note"]

    def _post_clean(self):
        """Leave the checks of the row to the action, which knows its client."""


class CorrectionForm(OnceForm, forms.ModelForm):
    """More or less for a visit that is on a statement, or for something else."""

    class Meta:
        model = ChargeCorrection
        fields = ["visit", "property", "day", "amount", "kind", "words"]

    def __init__(self, *args, client, **kwargs):
        super().__init__(*args, **kwargs)
        fields: Any = self.fields
        fields["property"].queryset = Property.objects.filter(client=client)
        charged = Visit.objects.filter(
            statement_line__isnull=False, course__property__client=client
        )
        fields["visit"].queryset = charged.select_related(
            "course__rotation", "course__property", "rotation_week"
        ).order_by("-completed_at")
        fields["visit"].label_from_instance = _named
        fields["visit"].help_text = _("Left empty for what is of no visit.")

    def _post_clean(self):
        """Leave the checks of the row to the action, which knows its client."""


def _named(visit):
    return f"{visit.completed_at:%Y-%m-%d} {visit}"


class GiveOutForm(PeriodForm):
    """The period that was looked at, and the id by which a second press is known."""

    first = forms.DateField(widget=forms.HiddenInput)
    last = forms.DateField(widget=forms.HiddenInput)
    form_id = forms.UUIDField(widget=forms.HiddenInput, initial=uuid4)

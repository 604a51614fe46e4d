"""What a person types of a spill."""

from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from treatments.forms.once import OnceForm
from treatments.models import Lot, Product, SpillNote
from treatments.spills import note_spill


class SpillForm(OnceForm, forms.ModelForm):
    """What ran out where, what was done, and who was told."""

    class Meta:
        model = SpillNote
        fields = [
            "happened_at",
            "place",
            "product",
            "what",
            "lot",
            "amount",
            "reached_water",
            "anybody_hurt",
            "done",
            "told",
        ]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        lots: Any = self.fields["lot"]
        lots.queryset = Lot.objects.select_related("product").order_by("product__name", "pk")
        products: Any = self.fields["product"]
        products.queryset = Product.objects.filter(kind=Product.Kind.PESTICIDE)

    def clean_happened_at(self):
        """Refuse a moment that is still to come."""
        moment = self.cleaned_data["happened_at"]
        if moment > timezone.now():
            raise forms.ValidationError(_("This moment is still to come."))
        return moment

    def enter(self, by):
        """Keep the note and return it; the same form keeps one."""
        return self.hand_to(note_spill, by=by)

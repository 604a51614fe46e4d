"""What a person types of prices, costs and taxes."""

from typing import Any, cast

from django import forms

from clients.forms import LyingForm
from clients.models import Client, Property
from services.models import CostRate, PriceRule, TaxRate
from treatments.models import Rotation


class PriceForm(forms.ModelForm):
    """A price: for what, how much, for whom, from which day on."""

    class Meta:
        model = PriceRule
        fields = ["by", "amount", "client", "property", "rotation", "from_day"]

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        places, fields = Property.objects.select_related("client"), cast(Any, self.fields)
        fields["client"].queryset = Client.objects.order_by("name", "pk")
        fields["property"].queryset = places.order_by("name", "pk")
        fields["rotation"].queryset = Rotation.objects.order_by("name")


class CostForm(forms.ModelForm):
    """What an hour or a mile costs the business."""

    class Meta:
        model = CostRate
        fields = ["of", "amount", "from_day"]


class TaxForm(LyingForm, forms.ModelForm):
    """A tax as the owner knows it."""

    class Meta:
        model = TaxRate
        fields = ["name", "jurisdiction", "county", "percent", "falls_on", "from_day"]

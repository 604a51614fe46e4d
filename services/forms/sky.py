"""A look at the air without any visit."""

from django import forms
from django.utils.translation import gettext_lazy as _

from services.forms.signs import SignsForm
from services.forms.spot import AIR, ConditionsForm
from treatments.models import Product


class AirForm(ConditionsForm, SignsForm):
    """The air on a place, and what may be sprayed there."""

    field_order = [*AIR, "signs", "solid_cloud", "at_dusk", "product", "elevation_ft"]

    product = forms.ModelChoiceField(
        Product.objects.order_by("name"), label=_("product"), empty_label=_("any"), required=False
    )
    at_dusk = forms.BooleanField(label=_("at dusk or dawn"), required=False)
    elevation_ft = forms.IntegerField(
        label=_("height above the sea"), min_value=-300, max_value=12_000, required=False, initial=0
    )

    def __init__(self, query):
        super().__init__(query if query and "wind_mph" in query else None)

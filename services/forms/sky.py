"""A look at the air without any visit."""

from datetime import datetime

from django import forms
from django.utils.translation import gettext_lazy as _

from services.forms.signs import SignsForm
from services.forms.spot import AIR, ConditionsForm
from services.showing.air import AirAsked
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

    def sky_and_air(self, at: datetime) -> AirAsked:
        """Return the air that was typed and the sky that was ticked."""
        typed = self.cleaned_data
        return AirAsked(
            conditions=self.conditions(at),
            product=typed["product"],
            at_dusk=typed["at_dusk"],
            elevation_ft=typed["elevation_ft"] or 0,
            **self.sky(),
        )

"""A product in the order in which a label is read, with its ingredients and rates."""

from django import forms

from clients.forms import KeepingForm
from treatments.models import (
    ActiveIngredient,
    LabelRate,
    Pest,
    Product,
    ProductIngredient,
)


class ProductForm(KeepingForm):
    """A product, front panel first, then precautions, then directions."""

    class Meta:
        model = Product
        fields = [
            "name",
            "kind",
            "registrant",
            "epa_registration_number",
            "formulation_code",
            "restricted_use",
            "signal_word",
            "first_aid",
            "protective_equipment",
            "respirator_vapour",
            "respirator_particulate",
            "respirator_filter_classes",
            "bloom_rule",
            "bee_advisory",
            "water_buffer_ft",
            "well_buffer_ft",
            "edible_buffer_ft",
            "reentry_hours",
            "reentry_until_dry",
            "preharvest_days",
            "minimum_interval_days",
            "separation_days",
            "maximum_applications_per_year",
            "maximum_amount_per_application",
            "maximum_amount_per_year",
            "amount_basis",
            "plants_excluded",
            "wind_maximum_mph",
            "temperature_minimum_f",
            "temperature_maximum_f",
            "rainfast_hours",
            "needs_agitation",
            "needs_no_spreader",
            "mixing_rank",
            "water_ph_maximum",
            "certificate_category",
            "organic_listed",
            "label_version",
            "stock_unit",
            "price",
        ]

    def __init__(self, *args, shows_prices=True, **kwargs):
        super().__init__(*args, **kwargs)
        if not shows_prices:
            del self.fields["price"]


class IngredientForm(forms.ModelForm):
    """An active ingredient with its mode of action."""

    class Meta:
        model = ActiveIngredient
        fields = [
            "name",
            "irac_group",
            "frac_group",
            "separation_class",
            "bee_hazard",
            "moves_into_pollen",
            "residual_days",
            "stages_controlled",
        ]


class PestForm(forms.ModelForm):
    """A pest by its names, with the threshold and where that is from."""

    class Meta:
        model = Pest
        fields = [
            "common_name",
            "spanish_name",
            "scientific_name",
            "eppo_code",
            "is_mite",
            "stages",
            "threshold",
            "threshold_source",
        ]


CONTENT_COLUMNS = [
    "ingredient",
    "percent_by_weight",
    "pounds_per_gallon",
    "maximum_pounds_per_acre_per_year",
]
ContentFormSet = forms.inlineformset_factory(
    Product,
    ProductIngredient,
    fields=CONTENT_COLUMNS,
    extra=2,
    can_delete_extra=False,
)
RateFormSet = forms.inlineformset_factory(
    Product,
    LabelRate,
    fields=["plant_group", "pest", "minimum", "maximum", "basis", "gallons_per_1000_sq_ft"],
    extra=2,
    can_delete_extra=False,
)

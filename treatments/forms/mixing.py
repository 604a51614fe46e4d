"""What a person asks of a mix: in a tank, or at the end of a hose."""

import re
from datetime import date
from decimal import Decimal, InvalidOperation
from typing import Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from clients.models import PlantGroup, Planting
from clients.offering import OfferingForm
from treatments.mixing import Asked, AskedOfHose, Target
from treatments.mixing.label import label_rates
from treatments.models import Applicator, Pest, Product, Sprayer
from treatments.rules.units import Basis

SMALLEST = Decimal("0.001")
BASES = [(basis.value, basis.value) for basis in Basis]
STRENGTHS = [(basis.value, basis.value) for basis in Basis if basis.is_concentration]
ALLOWANCES = [(0, _("nothing over")), (5, "5 %")]
SETTING = re.compile(r"[;\s]+|,\s+")


def number(label, **options):
    """Return a field for a measure that may stay empty."""
    options.setdefault("min_value", SMALLEST)
    options.setdefault("required", False)
    return forms.DecimalField(label=label, max_digits=10, decimal_places=3, **options)


class PlaceForm(OfferingForm):
    """What is sprayed, with which product and at which rate; a planting answers much of it."""

    among = "planting"

    planting = forms.ModelChoiceField(Planting.objects.none(), label=_("planting"), required=False)
    plant_group = forms.ChoiceField(
        label=_("site on labels"),
        choices=[("", "---------"), *PlantGroup.choices],
        required=False,
        help_text=_("Where no planting is chosen."),
    )
    area_sq_ft = number(_("area"), help_text=_("In place of the planting's own."))
    product = forms.ModelChoiceField(Product.objects.none(), label=_("product"))
    pest = forms.ModelChoiceField(
        Pest.objects.all(),
        label=_("pest"),
        required=False,
        help_text=_("Without one the strictest rate for the site holds."),
    )
    rate = number(_("rate"), required=True)
    basis = forms.ChoiceField(
        label=_("basis"),
        choices=[("", _("as the label")), *BASES],
        required=False,
    )
    sprayer = forms.ModelChoiceField(Sprayer.objects.filter(retired=False), label=_("sprayer"))
    person = forms.ModelChoiceField(
        Applicator.objects.all(),
        label=_("person"),
        required=False,
        help_text=_("In whose hands the sprayer was calibrated."),
    )

    def __init__(self, *args, user, **kwargs):
        super().__init__(*args, **kwargs)
        plantings: Any = self.fields["planting"]
        plantings.queryset = Planting.objects.for_user(user).select_related("property__client")
        products: Any = self.fields["product"]
        products.queryset = Product.objects.filter(kind=Product.Kind.PESTICIDE)

    def clean(self):
        """Take the site from the planting, and the basis from the label where it has but one."""
        told = super().clean() or self.cleaned_data
        planting = told.get("planting")
        if planting is not None:
            told["plant_group"] = planting.plant_group
        elif not told.get("plant_group"):
            self.add_error("plant_group", _("Choose a planting, or the site as labels name it."))
        if told.get("product") and told.get("plant_group") and not told.get("basis"):
            self._take_basis(told)
        return told

    def _take_basis(self, told) -> None:
        rates = label_rates(told["product"], told.get("plant_group", ""), told.get("pest"))
        bases = sorted({rate.basis for rate in rates})
        if len(bases) == 1:
            told["basis"] = bases[0]
        else:
            self.add_error("basis", _("Choose the basis of the rate, as the label gives it."))

    def target(self) -> Target:
        """Return what is sprayed."""
        told = self.cleaned_data
        names = ("plant_group", "planting", "area_sq_ft", "plants", "gallons_per_plant")
        return Target(**{name: told[name] for name in names if name in told})

    def alike(self) -> dict[str, Any]:
        """Return what tank and hose ask alike."""
        names = ("product", "rate", "basis", "sprayer", "person", "pest")
        return {name: self.cleaned_data[name] for name in names}


FOLDED = [
    "plant_group",
    "area_sq_ft",
    "plants",
    "gallons_per_plant",
    "spray_gallons",
    "allowance_percent",
    "smallest_batch_gallons",
    "containers",
    "container_gallons",
]


class MixForm(PlaceForm):
    """A mix in a tank."""

    plants = forms.IntegerField(
        label=_("plants"),
        min_value=1,
        max_value=100_000,
        required=False,
        help_text=_("In place of the planting's own."),
    )
    gallons_per_plant = number(
        _("water for one plant"),
        help_text=_("Measured with water on a typical plant, to just before runoff."),
    )
    spray_gallons = number(_("spray in all"), help_text=_("Where it is known otherwise."))
    allowance_percent = forms.TypedChoiceField(
        label=_("mixed over"), choices=ALLOWANCES, coerce=Decimal, required=False, empty_value="0"
    )
    adjuvant = forms.ModelChoiceField(
        Product.objects.filter(kind=Product.Kind.ADJUVANT),
        label=_("adjuvant"),
        required=False,
        help_text=_("Only where the product's label allows one."),
    )
    adjuvant_rate = number(_("its rate"))
    adjuvant_basis = forms.ChoiceField(label=_("its basis"), choices=STRENGTHS, required=False)
    containers = forms.IntegerField(
        label=_("containers emptied and rinsed into the tank"),
        min_value=0,
        max_value=20,
        required=False,
    )
    container_gallons = number(_("each holds"))
    smallest_batch_gallons = number(
        _("least the sprayer sprays"), help_text=_("A smaller rest is spread over the tanks.")
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        each: Any = self.fields["gallons_per_plant"]
        each.unit = _("gallons")

    def clean(self):
        """Ask for the other half of what comes in pairs."""
        told = super().clean()
        if told.get("adjuvant") and not told.get("adjuvant_rate"):
            self.add_error("adjuvant_rate", _("Give the rate of the adjuvant."))
        if told.get("containers") and not told.get("container_gallons"):
            self.add_error("container_gallons", _("Give what a container holds."))
        return told

    def opens(self) -> bool:
        """Say whether something was typed among what is seldom asked, or is wrong there."""
        shown = (self[name] for name in FOLDED)
        return any(field.value() not in (None, "", "0", 0) or field.errors for field in shown)

    def asked(self, day: date) -> Asked:
        """Return the mix that is asked for."""
        told = self.cleaned_data
        return Asked(
            target=self.target(),
            day=day,
            spray_gallons=told["spray_gallons"],
            allowance_percent=Decimal(told["allowance_percent"]),
            smallest_batch_gallons=told["smallest_batch_gallons"] or Decimal(0),
            adjuvant=told["adjuvant"],
            adjuvant_rate=told["adjuvant_rate"],
            adjuvant_basis=told["adjuvant_basis"] or Basis.FLUID_OUNCES_PER_GALLON.value,
            container_gallons=told["container_gallons"],
            containers=told["containers"] or 0,
            **self.alike(),
        )


class HoseForm(PlaceForm):
    """A setting of a hose-end sprayer or of an injector."""

    sprayer = forms.ModelChoiceField(
        Sprayer.objects.filter(retired=False),
        label=_("sprayer"),
        required=False,
        help_text=_("Its calibration at this tap tells the water on the ground."),
    )
    output_gal_per_1000_sq_ft = number(
        _("water on 1,000 sq ft"), help_text=_("Where it was just measured at this tap.")
    )
    settings = forms.CharField(
        label=_("settings of the dial"),
        max_length=200,
        required=False,
        help_text=_("Fluid ounces in a gallon, with spaces between: 0.5 1 1.5 2"),
    )
    flow_gal_per_min = number(_("flow of water"))
    minutes = number(_("tap open for"), help_text=_("Empty where the area decides."))

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        units = {"output_gal_per_1000_sq_ft": _("gal"), "flow_gal_per_min": _("gal/min")}
        for name, unit in units.items():
            field: Any = self.fields[name]
            field.unit = unit

    def clean_settings(self) -> tuple[Decimal, ...]:
        """Return the settings of the dial as amounts, none of them zero."""
        words = [word for word in SETTING.split(self.cleaned_data["settings"].strip()) if word]
        try:
            settings = tuple(Decimal(word) for word in words)
        except InvalidOperation as reason:
            raise ValidationError(
                _("Write numbers with a point and spaces between, such as 0.5 1 1.5 2.")
            ) from reason
        if not all(setting.is_finite() and 0 < setting <= 128 for setting in settings):
            raise ValidationError(_("A setting is more than zero and at most 128."))
        return settings

    def asked(self, day: date) -> AskedOfHose:
        """Return the setting that is asked for."""
        names = ("output_gal_per_1000_sq_ft", "settings", "flow_gal_per_min", "minutes")
        own = {name: self.cleaned_data[name] for name in names}
        return AskedOfHose(target=self.target(), day=day, **own, **self.alike())

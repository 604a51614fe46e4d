"""What a person types of a rotation: what it is for, and each of its weeks."""

from functools import cached_property
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from clients.models import PlantGroup, Planting
from clients.offering import OfferingForm
from treatments.gathering import with_labels
from treatments.models import LabelRate, Pest, Product, RotationWeek
from treatments.rules.units import Basis

STRIDE = {"minimum_days": 5, "planned_days": 7, "maximum_days": 9}
BASES = [("", _("as the label")), *((basis.value, basis.value) for basis in Basis)]


class Catalogue:
    """The products to choose from, read once for all weeks.

    site, pest: as they were typed; what its label gives no rate for them is not offered
    """

    def __init__(self, site: str, pest: str) -> None:
        self.site, self.pest = site, pest

    @cached_property
    def products(self) -> dict[str, Product]:
        """The products of the book with their labels, by id as it is sent."""
        return {str(each.pk): each for each in with_labels(Product.objects.all())}

    @cached_property
    def offered(self) -> dict[str, Product]:
        """The products that come into question, by id as it is sent."""
        return {pk: each for pk, each in self.products.items() if self._may_be_used(each)}

    def left_out(self) -> int:
        """Return how many products are not offered."""
        return len(self.products) - len(self.offered)

    def choices(self, kind: str, chosen: str) -> list[tuple[str, str]]:
        """Return the products of a kind as they are offered, with the one chosen already."""
        offered = self.offered
        if chosen in self.products:
            offered = offered | {chosen: self.products[chosen]}
        named = [(pk, each.name) for pk, each in offered.items() if each.kind == kind]
        return [("", "---------"), *named]

    def _may_be_used(self, product: Product) -> bool:
        return (
            product.kind != Product.Kind.PESTICIDE
            or not self.site
            or any(
                rate.plant_group == self.site
                and (not self.pest or rate.pest_id is None or str(rate.pest_id) == self.pest)
                for rate in product.rates.all()
            )
        )

    def rates(self, product: Product, plant_group: str, pest: Pest | None) -> list[LabelRate]:
        """Return the rates of a label for a site, those for the pest before those for any."""
        on_site = [rate for rate in product.rates.all() if rate.plant_group == plant_group]
        named = [rate for rate in on_site if pest is not None and rate.pest_id == pest.pk]
        return named or [rate for rate in on_site if rate.pest_id is None]


class RotationForm(OfferingForm):
    """What the rotation is for, and what it is checked against."""

    field_order = ("name", "pest", "plant_group", "first_day", "words")

    name = forms.CharField(label=_("name"), max_length=200)
    pest = forms.ModelChoiceField(Pest.objects.all(), label=_("pest"))
    plant_group = forms.ChoiceField(
        label=_("site on labels"), choices=[("", "---------"), *PlantGroup.choices]
    )
    first_day = forms.DateField(
        label=_("first day to check with"),
        help_text=_("Bloom, intervals and stock are checked as if week one were sprayed then."),
    )
    plantings = forms.ModelMultipleChoiceField(
        Planting.objects.none(),
        label=_("plantings to check against"),
        required=False,
        help_text=_("With none chosen only the labels are asked."),
    )
    note = forms.CharField(
        label=_("note"), max_length=2000, required=False, widget=forms.Textarea(attrs={"rows": 2})
    )
    version = forms.IntegerField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args, user, **kwargs):
        super().__init__(*args, **kwargs)
        seen = Planting.objects.for_user(user).select_related("property__client")
        choice: Any = self.fields["plantings"]
        choice.queryset = seen


class WeekForm(forms.Form):
    """One week: a spray with its rate, or a step without one."""

    step = forms.ChoiceField(label=_("step"), choices=RotationWeek.Step.choices)
    product = forms.TypedChoiceField(label=_("product"), required=False, empty_value=None)
    rate = forms.DecimalField(
        label=_("rate"), max_digits=10, decimal_places=3, min_value=0, required=False
    )
    basis = forms.ChoiceField(label=_("basis"), choices=BASES, required=False)
    adjuvant = forms.TypedChoiceField(label=_("spreader-sticker"), required=False, empty_value=None)
    adjuvant_rate = forms.DecimalField(
        label=_("its rate (fl oz/gal)"),
        max_digits=10,
        decimal_places=3,
        min_value=0,
        required=False,
    )
    purpose = forms.CharField(label=_("purpose"), max_length=200, required=False)
    at_dusk = forms.BooleanField(label=_("at dusk"), required=False)
    minimum_days = forms.IntegerField(label=_("earliest"), min_value=1)
    planned_days = forms.IntegerField(label=_("planned"), min_value=1)
    maximum_days = forms.IntegerField(label=_("latest"), min_value=1)

    def __init__(self, *args, catalogue: Catalogue, **kwargs):
        super().__init__(*args, **kwargs)
        for name, kind in (("product", "pesticide"), ("adjuvant", "adjuvant")):
            choice: Any = self.fields[name]
            choice.choices = catalogue.choices(kind, self[name].value() or "")
            choice.coerce = catalogue.products.get

    def clean(self):
        """Take the basis from the label where it has but one, and see that the days follow on."""
        super().clean()
        typed = self.cleaned_data
        if typed.get("product") and not typed.get("basis"):
            of_label = {rate.basis for rate in typed["product"].rates.all()}
            typed["basis"] = of_label.pop() if len(of_label) == 1 else ""
        if typed.get("step") == RotationWeek.Step.SPRAY:
            for name in ("product", "rate", "basis"):
                if not typed.get(name) and name not in self.errors:
                    self.add_error(name, _("A spray has a product and a rate."))
        days = [typed[name] for name in STRIDE if name in typed]
        if days != sorted(days):
            self.add_error("planned_days", _("Earliest, planned and latest day follow on."))
        return typed

    def week(self, number: int) -> RotationWeek:
        """Return the week as far as it can be read; not kept yet."""
        typed = {name: value for name, value in self.cleaned_data.items() if value is not None}
        if typed.get("step") != RotationWeek.Step.SPRAY:
            for name in ("product", "rate", "basis", "adjuvant", "adjuvant_rate"):
                typed.pop(name, None)
        return RotationWeek(week=number, **typed)

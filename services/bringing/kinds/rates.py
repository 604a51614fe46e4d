"""Label rates from a file, a row a rate."""

from typing import Any

from django.utils.functional import cached_property
from django.utils.translation import gettext_lazy

from services.bringing.cells import Named
from services.bringing.columns import Column, Kind, column_for, columns_for
from services.bringing.finding import InBook
from services.bringing.kinds.glossary import OWNER
from treatments.models import LabelRate

RATE_COLUMNS = ["minimum", "maximum", "basis", "gallons_per_1000_sq_ft"]


class LabelRates(Kind):
    """The rates of labels: known by product, site, pest and basis."""

    name, noun, roles = "label-rates", gettext_lazy("label rates"), OWNER

    class Meta:
        model = LabelRate
        fields = ()

    @cached_property
    def book(self) -> InBook:
        """Hold what the book has, read once."""
        return InBook()

    def make_columns(self) -> list[Column]:
        products, pests = self.book.products, self.book.pests
        name = gettext_lazy("the product's name as in the book")
        pest = gettext_lazy("the pest's common name as in the book")
        return [
            column_for(
                LabelRate._meta.get_field("product"),
                widget=Named(products.find, products.tell, name),
            ),
            *columns_for(LabelRate, ["plant_group"]),
            column_for(
                LabelRate._meta.get_field("pest"), widget=Named(pests.find, pests.tell, pest)
            ),
            *columns_for(LabelRate, RATE_COLUMNS),
        ]

    def key_of(self, thing: Any) -> tuple:
        return thing.product_id, thing.plant_group, thing.pest_id, thing.basis

    def rows_of_book(self):
        return LabelRate.objects.select_related("product", "pest")

"""Plantings from a file, and how a row names a property or a planting."""

from typing import Any

from django.utils.functional import cached_property
from django.utils.translation import gettext_lazy

from clients.forms import PlantingForm
from clients.models import Planting
from services.bringing.cells import Named
from services.bringing.columns import Column, Kind, column_for, columns_for
from services.bringing.finding import InBook, plain


class OnProperties(Kind):
    """Kinds whose rows name a property, by its name or with its client's after a comma."""

    class Meta:
        abstract = True
        fields = ()

    @cached_property
    def book(self) -> InBook:
        """Hold what the book has, read once."""
        return InBook()

    def property_cell(self) -> Named:
        """Return the reader of a property."""
        places = self.book.properties
        words = gettext_lazy("the property's name; with its client's after a comma where needed")
        return Named(places.find, places.tell, words)


class Plantings(OnProperties):
    """Plantings: known by property and name."""

    name, noun = "plantings", gettext_lazy("plantings")

    class Meta:
        model = Planting
        fields = ()

    def make_columns(self) -> list[Column]:
        place = column_for(Planting._meta.get_field("property"), widget=self.property_cell())
        return [place, *columns_for(Planting, PlantingForm.Meta.fields)]

    def key_of(self, thing: Any) -> tuple:
        return thing.property_id, plain(thing.name)

    def key_column(self) -> str:
        return "name"

    def rows_of_book(self):
        return Planting.objects.select_related("property__client")

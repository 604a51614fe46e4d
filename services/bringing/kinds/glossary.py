"""Active ingredients and pests from a file."""

from typing import Any

from django.utils.translation import gettext_lazy

from clients.access import Role
from services.bringing.columns import Column, Kind, columns_for
from services.bringing.finding import plain
from treatments.forms.products import IngredientForm, PestForm
from treatments.models import ActiveIngredient, Pest

# Labels are entered by the owner and the certified; what a file brings, by owner and office.
OWNER = frozenset({Role.OWNER})


class Ingredients(Kind):
    """Active ingredients, beside those that every book begins with."""

    name, noun, roles = "ingredients", gettext_lazy("active ingredients"), OWNER

    class Meta:
        model = ActiveIngredient
        fields = ()

    def make_columns(self) -> list[Column]:
        return columns_for(ActiveIngredient, IngredientForm.Meta.fields)

    def key_of(self, thing: Any) -> tuple:
        return (plain(thing.name),)


class Pests(Kind):
    """Pests, beside those that every book begins with."""

    name, noun, roles = "pests", gettext_lazy("pests"), OWNER

    class Meta:
        model = Pest
        fields = ()

    def make_columns(self) -> list[Column]:
        return columns_for(Pest, PestForm.Meta.fields)

    def key_of(self, thing: Any) -> tuple:
        return (plain(thing.common_name),)

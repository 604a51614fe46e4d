"""Products from a file, with their ingredients and one rate; more rates are a file of their own."""

import re
from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.utils.functional import cached_property
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from services.bringing.cells import Cell
from services.bringing.columns import (
    Column,
    Kind,
    column_for,
    columns_for,
    refuse_by_constraints,
)
from services.bringing.finding import InBook, plain
from services.bringing.kinds.glossary import OWNER
from services.bringing.kinds.rates import RATE_COLUMNS, LabelRates
from treatments.forms.products import ProductForm
from treatments.models import LabelRate, Product, ProductIngredient

CONTENT = re.compile(
    r"(?P<name>.+?)\s+(?P<percent>\d{1,3}(?:\.\d{1,3})?)\s*%"
    r"(?:\s+(?P<pounds>\d{1,3}(?:\.\d{1,3})?)\s*lb/gal)?"
    r"(?:\s+(?P<most>\d{1,3}(?:\.\d{1,4})?)\s*lb/acre/year)?"
)
RATE_OF_PRODUCT = "rate "  # begins the heads of the one rate in a product's row


class Contents(Cell):
    """Reads what a product holds, such as “spinosad 11.6% 1 lb/gal; mineral oil 80%”."""

    def __init__(self, book: InBook):
        super().__init__()
        self.book = book

    def nothing(self) -> list[ProductIngredient]:
        return []

    def read(self, text: str) -> list[ProductIngredient]:
        return [self._one(part.strip()) for part in text.split(";") if part.strip()]

    def _one(self, text: str) -> ProductIngredient:
        found = CONTENT.fullmatch(text)
        if found is None:
            said = _("“%(text)s” is not read: write the name and its percent, as spinosad 11.6%%.")
            raise ValueError(said % {"text": text[:60]})
        try:
            ingredient = self.book.ingredients.find(found["name"])
        except LookupError as missing:
            raise ValueError(str(missing.args[0])) from missing
        return ProductIngredient(
            ingredient=ingredient,
            percent_by_weight=Decimal(found["percent"]),
            pounds_per_gallon=_decimal(found["pounds"]),
            maximum_pounds_per_acre_per_year=_decimal(found["most"]),
        )

    def explained(self) -> str:
        return _(
            "active ingredients with their percent by weight and semicolons between them, as "
            "spinosad 11.6%; mineral oil 80% 7.1 lb/gal 0.5 lb/acre/year, where the label gives "
            "pounds in a gallon and the most pounds on an acre in a year"
        )

    def render(self, value: Any, obj: Any = None, **kwargs: Any) -> str:
        return "; ".join(_told(each) for each in value)


class Products(Kind):
    """Products: known by name.  The rate in the row is the first of its label."""

    name, noun, roles, most_rows = "products", gettext_lazy("products"), OWNER, 2_000

    class Meta:
        model = Product
        fields = ()

    @cached_property
    def book(self) -> InBook:
        """Hold what the book has, read once."""
        return InBook()

    @cached_property
    def rates(self) -> LabelRates:
        """Return the columns of a rate, which a product's row may hold as well."""
        return LabelRates()

    def make_columns(self) -> list[Column]:
        contents = Column(
            attribute="brought_contents",
            column_name="ingredients",
            widget=Contents(self.book),
            is_needed=False,
        )
        plain_columns = columns_for(Product, ProductForm.Meta.fields)
        return [*plain_columns, contents, *self._rate_columns()]

    def _rate_columns(self) -> list[Column]:
        readers = {each.attribute: each.widget for each in self.rates.columns()}
        return [
            column_for(
                LabelRate._meta.get_field(name),
                attribute=f"brought_rate_{name}",
                column_name=f"{RATE_OF_PRODUCT}{name.replace('_', ' ')}",
                widget=readers[name],
                is_needed=False,
            )
            for name in ["plant_group", "pest", *RATE_COLUMNS]
        ]

    def key_of(self, thing: Any) -> tuple:
        return (plain(thing.name),)

    def rows_of_book(self):
        found = Product.objects.prefetch_related("contents__ingredient", "rates__pest")
        return [_with_parts(product) for product in found]

    def check_row(self, thing: Product, wrong: set[str]) -> None:
        super().check_row(thing, wrong)
        refuse_parts(thing)
        number = thing.epa_registration_number
        if number and number in self.numbers:
            other = self.numbers[number]
            said = _("The book has this registration number as “%(name)s”; both will be in it.")
            self.hint("epa registration number", said % {"name": other})

    @cached_property
    def numbers(self) -> dict[str, str]:
        """Hold the registration numbers in the book, with a product's name for each."""
        return {each.epa_registration_number: each.name for each in self.in_book.values()}

    def keep_all(self, things: Sequence[Any], by: Any) -> list[models.Model]:
        made: list[models.Model] = []
        for product in things:
            product.save()
            parts = [*product.brought_contents, *rate_of(product)]
            for part in parts:
                part.product = product
                part.save()
            made += [product, *parts]
        return made


def refuse_parts(product: Any) -> None:
    """Refuse contents and a rate that break a rule of their own."""
    for content in getattr(product, "brought_contents", []):
        _refuse(content, "brought_contents")
    names = [each.ingredient_id for each in getattr(product, "brought_contents", [])]
    if len(set(names)) < len(names):
        raise ValidationError({"brought_contents": _("An ingredient stands there twice.")})
    for rate in rate_of(product):
        try:
            _refuse(rate, "")
        except ValidationError as wrong:
            told = {f"brought_rate_{name}": said for name, said in wrong.error_dict.items()}
            raise ValidationError(told) from wrong


def rate_of(product: Any) -> list[LabelRate]:
    """Return the rate that a row tells beside its product; none where it tells none."""
    names = ["plant_group", "pest", *RATE_COLUMNS]
    told = {name: getattr(product, f"brought_rate_{name}", None) for name in names}
    if not any(value not in (None, "") for value in told.values()):
        return []
    return [LabelRate(**told)]


def _refuse(part: models.Model, attribute: str) -> None:
    try:
        part.clean_fields(exclude={"product"})
        refuse_by_constraints(part)
    except ValidationError as wrong:
        if not attribute and hasattr(wrong, "error_dict"):
            raise
        raise ValidationError({attribute or "maximum": wrong.messages}) from wrong


def _with_parts(product: Any) -> Any:
    product.brought_contents = list(product.contents.all())
    first = next(iter(product.rates.all()), None)
    for name in ["plant_group", "pest", *RATE_COLUMNS]:
        setattr(product, f"brought_rate_{name}", getattr(first, name) if first else None)
    return product


def _decimal(text: str | None) -> Decimal | None:
    return Decimal(text) if text else None


def _told(content: ProductIngredient) -> str:
    parts = [f"{content.ingredient.name} {content.percent_by_weight.normalize():f}%"]
    if content.pounds_per_gallon is not None:
        parts.append(f"{content.pounds_per_gallon.normalize():f} lb/gal")
    if content.maximum_pounds_per_acre_per_year is not None:
        parts.append(f"{content.maximum_pounds_per_acre_per_year.normalize():f} lb/acre/year")
    return " ".join(parts)

"""Applications of before this book, from a file: taken over as they are, vouched for by nobody."""

from datetime import timedelta
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.models import Planting
from services.bringing.cells import Cell
from services.bringing.columns import Column, column_for, columns_for
from services.bringing.finding import plain
from services.bringing.kinds.plantings import OnProperties
from services.bringing.refused import Refused
from treatments.models import EarlierApplication

COLUMNS = [
    "applied_on",
    "product_name",
    "epa_registration_number",
    "product_amount",
    "product_unit",
    "treated_area_sq_ft",
    "target_pest",
    "applicator_name",
    "applicator_licence_number",
    "lot_number",
    "note",
]
PLANTING = "planting"


class EarlierApplications(OnProperties):
    """Past applications: known by planting, day, product and amount."""

    name, noun = "past-applications", gettext_lazy("past applications")

    class Meta:
        model = EarlierApplication
        fields = ()

    def make_columns(self) -> list[Column]:
        place = column_for(
            Planting._meta.get_field("property"),
            attribute="brought_property",
            widget=self.property_cell(),
        )
        planting = column_for(
            EarlierApplication._meta.get_field("planting"),
            attribute="brought_planting",
            widget=_PlantingName(),
        )
        return [place, planting, *columns_for(EarlierApplication, COLUMNS)]

    def key_of(self, thing: Any) -> tuple:
        amount = thing.product_amount
        told = None if amount is None else f"{amount.normalize():f}"
        return thing.planting_id, thing.applied_on, plain(thing.product_name), told

    def key_column(self) -> str:
        return "applied on"

    def rows_of_book(self):
        found = EarlierApplication.objects.select_related("planting__property__client")
        return [_with_property(each) for each in found]

    def rows_to_write(self):
        found = EarlierApplication.objects.select_related("planting__property__client")
        return (_with_property(each) for each in found.order_by("pk").iterator(500))

    def import_instance(self, instance: Any, row: Any, **kwargs: Any) -> None:
        """Read the row; the planting is looked for on the property that the row names."""
        errors: dict[str, Any] = {}
        try:
            super().import_instance(instance, row, **kwargs)
        except ValidationError as wrong:
            errors = wrong.update_error_dict(errors)
        place = getattr(instance, "brought_property", None)
        if place is not None and "brought_planting" not in errors:
            found = self.book.plantings.get((place.pk, plain(row.get(PLANTING, ""))))
            if found is None:
                said = _("“%(planting)s” is no planting of %(place)s: bring or enter it first.")
                told = {"planting": row.get(PLANTING, ""), "place": place.name}
                errors["brought_planting"] = ValidationError(said % told)
            else:
                instance.planting = found
        if errors:
            raise ValidationError(errors)

    def check_fields(self, thing: Any, wrong: set[str]) -> None:
        super().check_fields(
            thing, wrong | {"planting", "taken_from", "taken_over_at", "taken_over_by"}
        )

    def check_row(self, thing: Any, wrong: set[str]) -> None:
        now = self.known["now"]
        if thing.applied_on and thing.applied_on > now.date() + timedelta(days=1):
            raise ValidationError({"applied_on": _("The day is still to come.")})
        super().check_row(thing, wrong)
        if not wrong and self.product_of(thing) is None:
            said = _("The book has no such product, so it counts against no limit of a label.")
            self.hint("product name", said)

    def product_of(self, thing: Any) -> Any:
        """Return the product of the book that a row names, None where it has none."""
        found = self.book.products.called(thing.product_name)
        return found[0] if found else None

    def keep_all(self, things, by):
        for thing in things:
            thing.product = self.product_of(thing)
            thing.taken_from = self.known["taken_from"]
            thing.taken_over_at, thing.taken_over_by = self.known["now"], by
        return super().keep_all(things, by)


class _PlantingName(Cell):
    """Passes a planting's name on: it is looked for once the property is known."""

    def clean(self, value: Any, row: Any = None, **kwargs: Any) -> Any:
        if isinstance(value, Refused):
            raise ValueError(str(value))
        return str(value).strip()

    def explained(self) -> str:
        return _("the planting's name as in the book")

    def render(self, value: Any, obj: Any = None, **kwargs: Any) -> Any:
        return value.name if isinstance(value, Planting) else value or ""


def _with_property(earlier: Any) -> Any:
    earlier.brought_planting = earlier.planting
    earlier.brought_property = earlier.planting.property
    return earlier

"""Lots from a file: each enters the store by a line of the ledger, as a delivery does."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import Max
from django.utils.functional import cached_property
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from services.bringing.cells import Named, Number
from services.bringing.columns import Column, Kind, column_for, columns_for
from services.bringing.finding import InBook, plain
from services.models import Bringing
from treatments.models import Lot, StockEntry
from treatments.storekeeping import enter

PLAIN = ["lot_number", "not_marked_reason"]
DATED = ["received_on", "expires_on", "opened_on", "unit_cost"]
TAKEN_BACK = "taken back"  # of what a file brought: the lines of the ledger that undid it


class Lots(Kind):
    """Lots: known by product and number; one without a number by its days and the reason why."""

    name, noun, most_rows = "lots", gettext_lazy("lots"), 2_000

    class Meta:
        model = Lot
        fields = ()

    @cached_property
    def book(self) -> InBook:
        """Hold what the book has, read once."""
        return InBook()

    def make_columns(self) -> list[Column]:
        products = self.book.products
        words = gettext_lazy("the product's name as in the book")
        product = column_for(
            Lot._meta.get_field("product"), widget=Named(products.find, products.tell, words)
        )
        amount = Column(
            attribute="brought_amount", column_name="amount", widget=_Left(), is_needed=True
        )
        return [product, *columns_for(Lot, PLAIN), amount, *columns_for(Lot, DATED)]

    def key_of(self, thing: Any) -> tuple:
        if thing.lot_number:
            return thing.product_id, plain(thing.lot_number)
        days = thing.received_on, thing.expires_on
        return thing.product_id, "", plain(thing.not_marked_reason), *days

    def key_column(self) -> str:
        return "lot number"

    def rows_of_book(self):
        """Return the lots but those that were taken back and not touched since."""
        found = Lot.objects.select_related("product").with_balance()
        return [_with_amount(lot) for lot in found if lot.pk not in self.taken_back]

    def rows_to_write(self):
        """Return the lots that hold something."""
        found = Lot.objects.select_related("product").with_balance().filter(balance__gt=0)
        return [_with_amount(lot) for lot in found]

    @cached_property
    def taken_back(self) -> set[int]:
        """Hold the lots whose last line of the ledger took a file back: they may come again."""
        undone = Bringing.objects.filter(kind=self.name, undone_at__isnull=False)
        lines = {pk for made in undone.values_list("made", flat=True) for pk in made[TAKEN_BACK]}
        last = StockEntry.objects.order_by().values("lot").annotate(last=Max("pk"))
        return {lot for lot, line in last.values_list("lot", "last") if line in lines}

    def check_row(self, thing: Any, wrong: set[str]) -> None:
        super().check_row(thing, wrong)
        amount = getattr(thing, "brought_amount", None)
        if amount is None:
            return
        if amount <= 0 or amount != amount.quantize(Decimal("0.001")) or amount >= 10_000_000:
            said = _("Give what is left in the store, above 0, with three decimals at most.")
            raise ValidationError({"brought_amount": said})

    def keep_all(self, things: Sequence[Any], by: Any) -> list[models.Model]:
        made: list[models.Model] = []
        note = _("brought from a file: %(name)s") % {"name": self.known["taken_from"]}
        again = {self.key_of(lot): lot.pk for lot in Lot.objects.filter(pk__in=self.taken_back)}
        for lot in things:
            lot.pk = again.get(self.key_of(lot))
            lot.save()
            received = {"at": None, "by": by, "note": note[:200]}
            entry = enter(lot, StockEntry.Kind.RECEIVED, lot.brought_amount, **received)
            made += [lot, entry]
        return made


class _Left(Number):
    """Reads what is left of a lot."""

    def explained(self) -> str:
        return _("what is left in the store, in the unit the product is kept in: fl oz or oz")


def _with_amount(lot: Any) -> Any:
    lot.brought_amount = lot.balance
    return lot

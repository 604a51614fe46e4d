"""What a person types when something enters or leaves the store."""

from collections.abc import Callable
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from treatments.clocks import home_day
from treatments.forms.once import OnceForm
from treatments.models import Locker, Product
from treatments.storekeeping import count_lot, dispose, move_stock, receive_lot, return_to_store

SMALLEST = Decimal("0.001")
AMOUNTS = {"amount", "counted"}


def amount_field(label, **options):
    """Return a field for an amount in the unit of the store."""
    options.setdefault("min_value", SMALLEST)
    return forms.DecimalField(label=label, max_digits=10, decimal_places=3, **options)


def place_field(label, **options):
    """Return a field for where stock lies: the shelf, or a truck."""
    shelf = _("the shelf of the store")
    return forms.ModelChoiceField(
        Locker.objects.all(), label=label, required=False, empty_label=shelf, **options
    )


class ReceiveForm(OnceForm):
    """A delivery, as the container reads."""

    product = forms.ModelChoiceField(Product.objects.all(), label=_("product"))
    lot_number = forms.CharField(
        label=_("lot number"),
        max_length=60,
        required=False,
        help_text=_("As marked on the container. More of a lot that is known is added to it."),
    )
    not_marked_reason = forms.CharField(
        label=_("why it is not marked"), max_length=200, required=False
    )
    amount = amount_field(
        _("amount"), help_text=_("In the unit the product is kept in: fl oz, or oz by weight.")
    )
    received_on = forms.DateField(label=_("received"), initial=home_day)
    expires_on = forms.DateField(label=_("expires"), required=False)
    unit_cost = forms.DecimalField(
        label=_("cost a unit (USD)"), max_digits=8, decimal_places=4, min_value=0, required=False
    )

    def __init__(self, *args, shows_prices=True, **kwargs):
        super().__init__(*args, **kwargs)
        if not shows_prices:
            del self.fields["unit_cost"]

    def enter(self, by):
        """Put the delivery into the ledger and return the lot; the same form puts in one."""
        return self.hand_to(receive_lot, by=by)


class LotForm(OnceForm):
    """Something that happens to a lot; the unit stands beside what is typed."""

    action: Callable[..., Any]

    def __init__(self, *args, lot, **kwargs):
        super().__init__(*args, **kwargs)
        self.lot = lot
        for name in AMOUNTS & set(self.fields):
            field: Any = self.fields[name]
            field.unit = lot.product.get_stock_unit_display()
        if "locker" in self.fields and not Locker.objects.exists():
            del self.fields["locker"]

    def enter(self, by):
        """Write the line of the ledger and return it; the same form writes one."""
        return self.hand_to(self.action, self.lot, by=by)


class CountForm(LotForm):
    """What is there, as counted on the shelf."""

    action = staticmethod(count_lot)

    locker = place_field(_("counted where"))
    counted = amount_field(_("counted"), min_value=0)
    note = forms.CharField(label=_("note"), max_length=200, required=False)


class DisposeForm(LotForm):
    """What was taken out of the store for good, and how."""

    action = staticmethod(dispose)

    locker = place_field(_("taken from"))
    amount = amount_field(_("amount"))
    note = forms.CharField(
        label=_("how it was disposed of"),
        max_length=200,
        help_text=_("Such as: handed in at the county's collection day."),
    )


class MoveForm(LotForm):
    """What was carried from the shelf to a truck, back, or from truck to truck."""

    action = staticmethod(move_stock)

    origin = place_field(_("taken from"))
    destination = place_field(_("moved to"))
    amount = amount_field(_("amount"))
    note = forms.CharField(label=_("note"), max_length=200, required=False)

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        self.fields["destination"].initial = Locker.objects.first()


class ReturnForm(LotForm):
    """What came home from a truck."""

    action = staticmethod(return_to_store)

    amount = amount_field(_("amount"))
    note = forms.CharField(label=_("note"), max_length=200, required=False)

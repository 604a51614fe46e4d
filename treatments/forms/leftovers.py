"""What a person types of mix, rinse and concentrate that was left over."""

from django import forms
from django.utils.translation import gettext_lazy as _

from treatments.clocks import home_day
from treatments.forms.once import OnceForm
from treatments.forms.store import amount_field
from treatments.leftovers import note_leftover, return_concentrate
from treatments.models import LeftoverNote, Lot, Product


class LeftoverForm(OnceForm):
    """What was left, and what became of it."""

    kind = forms.ChoiceField(label=_("what was left"), choices=LeftoverNote.Kind.choices)
    product = forms.ModelChoiceField(
        Product.objects.filter(kind=Product.Kind.PESTICIDE), label=_("product")
    )
    gallons = forms.DecimalField(
        label=_("how much"), max_digits=6, decimal_places=2, min_value=0.01
    )
    done = forms.ChoiceField(
        label=_("what became of it"), choices=LeftoverNote.Done.choices, widget=forms.RadioSelect
    )
    note = forms.CharField(
        label=_("where, and by whose word"),
        max_length=300,
        help_text=_("The site it was sprayed on, or the place that took it."),
    )
    happened_on = forms.DateField(label=_("on"), initial=home_day)

    def enter(self, by):
        """Keep the note and return it; the same form keeps one."""
        return self.hand_to(note_leftover, by=by)


class ConcentrateForm(OnceForm):
    """Concentrate that comes back from the jar of a hose-end sprayer."""

    lot = forms.ModelChoiceField(Lot.objects.none(), label=_("lot"))
    amount = amount_field(
        _("amount"), help_text=_("In the unit the product is kept in: fl oz, or oz by weight.")
    )
    is_undiluted = forms.BooleanField(
        label=_("It is undiluted, from a dial jar, and the label allows its return."),
        required=False,
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        # The stubs know the fields of a form only as fields.
        lots: forms.ModelChoiceField = self.fields["lot"]  # type: ignore[assignment]
        lots.queryset = Lot.objects.select_related("product")

    def enter(self, by):
        """Write the line of the ledger and return it; the same form writes one."""
        return self.hand_to(return_concentrate, by=by)

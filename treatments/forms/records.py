"""What a person types to find a record, to amend one, and to declare one void."""

from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import uuid4
from zoneinfo import ZoneInfo

from django import forms
from django.core.exceptions import ValidationError
from django.core.validators import MaxValueValidator, MinValueValidator
from django.db.models import Q
from django.utils.translation import gettext_lazy as _

from clients.stretches import values_of
from treatments.correcting import ask_to_void, correct_record
from treatments.forms.refusals import tell
from treatments.models import ApplicationRecord, Applicator, Correction, Lot, Product

SHORTEST_REASON = 10
# Records lie between these, our own choice; far outside them clocks cannot be reckoned.
FIRST_DAY, LAST_DAY = date(1990, 1, 1), date(2200, 1, 1)

SIFTED_BY = {
    "product": "product",
    "lot": "lot_number__icontains",
    "applicator": "applicator",
    "jurisdiction": "jurisdiction",
}


def day_of_work(label) -> forms.DateField:
    """Return a field for a day by which records are picked; it may stay empty."""
    within = [MinValueValidator(FIRST_DAY), MaxValueValidator(LAST_DAY)]
    return forms.DateField(label=label, required=False, validators=within)


class SiftForm(forms.Form):
    """Which records are looked for."""

    words = forms.CharField(
        label=_("client, place or planting"), required=False, widget=forms.TextInput
    )
    product = forms.ModelChoiceField(
        Product.objects.all(), label=_("product"), required=False, empty_label=_("any")
    )
    lot = forms.CharField(label=_("lot number"), required=False)
    applicator = forms.ModelChoiceField(
        Applicator.objects.all(), label=_("applicator"), required=False, empty_label=_("anybody")
    )
    jurisdiction = forms.ChoiceField(label=_("jurisdiction"), required=False)
    first = day_of_work(_("from"))
    last = day_of_work(_("until"))

    def __init__(self, *args, records, **kwargs):
        super().__init__(*args, **kwargs)
        self.records = records
        places = values_of(records, "jurisdiction")
        choice: Any = self.fields["jurisdiction"]
        choice.choices = [("", _("any")), *((each, each) for each in places)]

    def offer_only_what_is_there(self):
        """Offer only products and applicators that stand in the records that may be seen."""
        for name in ("product", "applicator"):
            field: Any = self.fields[name]
            field.queryset = field.queryset.filter(applications__in=self.records).distinct()

    def is_asked(self) -> bool:
        """Say whether anything is looked for."""
        return any(self.data.get(name) for name in self.fields)

    def is_unreadable(self) -> bool:
        """Say whether something was typed that cannot be read."""
        return self.is_bound and not self.is_valid()

    def found(self):
        """Return the records that fit; with something unreadable among the words, all of them."""
        if not self.is_valid():
            return self.records
        typed = self.cleaned_data
        found = self.records.filter(
            **{column: typed[name] for name, column in SIFTED_BY.items() if typed[name]}
        )
        if typed["first"] or typed["last"]:
            found = found.filter(self._within(typed["first"], typed["last"]))
        return found.filter(_named(typed["words"])) if typed["words"] else found

    def _within(self, first: date | None, last: date | None) -> Q:
        """Return the days as the clocks of each record's own place count them."""
        zones = values_of(self.records, "time_zone")
        within = Q(pk__in=[])
        for zone in zones:
            within |= Q(time_zone=zone) & _days(first, last, ZoneInfo(zone))
        return within


def _days(first: date | None, last: date | None, zone: ZoneInfo) -> Q:
    days = Q()
    if first:
        days &= Q(done_at__gte=datetime.combine(first, time(), zone))
    if last:
        days &= Q(done_at__lt=datetime.combine(last + timedelta(days=1), time(), zone))
    return days


def _named(words: str) -> Q:
    return (
        Q(customer_name__icontains=words)
        | Q(site_address__icontains=words)
        | Q(site_description__icontains=words)
        | Q(planting__property__name__icontains=words)
    )


class ReasonForm(forms.Form):
    """Why a kept record does not stand as it was written."""

    form_id = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)
    reason = forms.CharField(
        label=_("reason"),
        min_length=SHORTEST_REASON,
        max_length=900,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text=_("In ten signs or more; it stands beside the record for good."),
    )

    def ask_to_void(self, record: ApplicationRecord, by, at: datetime) -> Correction | None:
        """Ask that the record be declared void; None when that is refused."""
        typed = self.cleaned_data
        try:
            return ask_to_void(
                record, reason=typed["reason"], by=by, at=at, event_id=typed["form_id"]
            )
        except ValidationError as refused:
            tell(self, refused)
            return None


class AmendForm(forms.ModelForm):
    """What a record says, to be corrected, and why."""

    form_id = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)
    reason = ReasonForm.base_fields["reason"]

    class Meta:
        model = ApplicationRecord
        fields = [
            "started_at",
            "done_at",
            "product",
            "lot",
            "pest",
            "applicator",
            "rate",
            "rate_basis",
            "product_amount",
            "mix_gallons",
            "dilution",
            "adjuvant",
            "treated_area_sq_ft",
            "plants",
            "method",
            "protective_equipment",
            "wind_mph",
            "wind_direction",
            "temperature_f",
            "humidity_percent",
            "weather",
            "posted_at",
            "posting",
            "notices",
            "incident",
            "disposal",
            "supplier_name",
            "recommender_name",
            "permit_number",
            "insurance",
            "training_proof",
            "worker_protection_exchange",
            "note",
        ]
        widgets = {
            name: forms.Textarea(attrs={"rows": 3}) for name in ("notices", "incident", "note")
        }

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        choice: Any = self.fields["lot"]
        choice.queryset = Lot.objects.select_related("product")
        for name in TIMES:
            # A picker has no seconds, so that a stored second would look like a change.
            moment = getattr(self.instance, name)
            self.initial[name] = moment and moment.replace(second=0, microsecond=0)

    def clean(self):
        super().clean()
        typed = self.cleaned_data
        lot, product = typed.get("lot"), typed.get("product")
        if lot and product and lot.product_id != product.pk:
            self.add_error("lot", _("This lot is of another product."))
        return typed

    def correct(self, by, at: datetime) -> ApplicationRecord | Correction | None:
        """Keep a second record with what was changed, or ask for it; None when that is refused."""
        changed = {name: self.cleaned_data[name] for name in self.changed_data if name in COLUMNS}
        record = ApplicationRecord.objects.get(pk=self.instance.pk)  # as it was kept
        try:
            return correct_record(
                record,
                reason=self.cleaned_data["reason"],
                by=by,
                at=at,
                event_id=self.cleaned_data["form_id"],
                **changed,
            )
        except ValidationError as refused:
            tell(self, refused)
            return None


class DeclineForm(forms.Form):
    """Why somebody does not agree to a correction."""

    note = forms.CharField(label=_("why not"), max_length=300, required=False)


COLUMNS = frozenset(AmendForm.Meta.fields)
TIMES = ("started_at", "done_at", "posted_at")

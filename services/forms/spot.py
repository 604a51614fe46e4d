"""What a crew types on the spot: the air, what was used, who applied and when."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from uuid import uuid4

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _

from clients.models import Planting
from services.asked_of_crews import typed_at
from services.completing import ApplicationReport
from services.forms.in_part import InPartForm
from services.forms.signs import SignsForm
from services.models import Visit
from services.rules.local_time import HourComesTwice, HourDoesNotExist, instant_of
from treatments.models import Applicator, Lot, Sprayer
from treatments.rules.facts import Conditions
from treatments.saying import told

WINDS = [
    ("", _("not looked at")),
    ("N", _("north")),
    ("NE", _("northeast")),
    ("E", _("east")),
    ("SE", _("southeast")),
    ("S", _("south")),
    ("SW", _("southwest")),
    ("W", _("west")),
    ("NW", _("northwest")),
    ("variable", _("changing")),
    ("calm", _("no wind")),
]
HOURS_OF_TWO = [("", "–"), ("first", _("the first of the two")), ("second", _("the second"))]
SHORT = forms.Textarea(attrs={"rows": 2})
AHEAD = timedelta(minutes=2)  # by which a phone's clock may run before ours; our own choice


def measured(label, unit, *, step, most, least=0):
    """Return a field for what was measured, with a stepper; empty means not measured.

    step: of the buttons; a tenth can be typed all the same
    """
    measure: Any = forms.DecimalField(
        label=label,
        required=False,
        min_value=Decimal(least),
        max_value=Decimal(most),
        max_digits=6,
        decimal_places=1,
    )
    measure.unit = unit
    measure.step_size = Decimal(step)
    measure.widget.attrs["step"] = str(step)
    return measure


def amount(label, unit, initial, hint=""):
    """Return a field for what was used."""
    used: Any = forms.DecimalField(
        label=label,
        min_value=Decimal("0.001"),
        max_digits=9,
        decimal_places=3,
        initial=initial,
        help_text=hint,
    )
    used.unit = unit
    return used


def mark_asked(field: Any) -> None:
    """Say of a field that the rules of the place want it, though a report is kept without it."""
    field.is_asked = True


class ConditionsForm(forms.Form):
    """The air as it was measured on the spot."""

    wind_mph = measured(_("wind"), _("mph"), step=1, most=80)
    wind_direction = forms.ChoiceField(label=_("wind from"), choices=WINDS, required=False)
    temperature_f = measured(_("temperature"), "°F", step=1, most=130, least=-20)
    humidity_percent = measured(_("humidity"), "%", step=1, most=100)
    hours_to_rain = measured(_("next rain in"), _("hours"), step=1, most=240)

    def conditions(self, at: datetime) -> Conditions:
        """Return what was measured; what could not be read counts as not measured."""
        names = ("wind_mph", "temperature_f", "humidity_percent", "hours_to_rain")
        read = {name: self.cleaned_data.get(name) for name in names}
        return Conditions(
            at=at, wind_direction=self.cleaned_data.get("wind_direction") or "", **read
        )

    def is_measured(self) -> bool:
        """Say whether anything of the air was measured."""
        return any(self.cleaned_data.get(name) not in (None, "") for name in AIR)


AIR = tuple(ConditionsForm.base_fields)
# What a rule asks for and the crew measures: field of the rules to field of the form.
MEASURED_FOR = {
    "wind_speed": "wind_mph",
    "wind_direction": "wind_direction",
    "air_temperature": "temperature_f",
}


@dataclass(frozen=True, slots=True)
class Offered:
    """What a form begins with: whom and what the crew has, and what the plan meant to use.

    used: product in the unit of the store and gallons of spray, by the planting's id
    measures: the same product as the crew measures it
    limits: of the air, in words, by the name of the field
    asked: who asks for a field of the record, in words, by the field's name in the rules
    """

    day: date
    applicators: list[Applicator]
    applicator: Applicator | None
    sprayers: list[Sprayer]
    sprayer: Sprayer | None
    used: dict[int, tuple[Decimal, Decimal]]
    lots: list[Lot]
    wears: tuple[str, ...] = ()
    measures: Mapping[int, str] = field(default_factory=dict)
    limits: Mapping[str, str] = field(default_factory=dict)
    asked: Mapping[str, str] = field(default_factory=dict)


class WorkForm(ConditionsForm, SignsForm):
    """The air, when the work was done and by whom; the same for every kind of visit.

    The hours are those of the property's clocks.  An hour that the clocks skip is refused, and one
    that they show twice is asked about.  While a form is `unfinished` it keeps what was typed and
    finds no fault with it.
    """

    form_id = forms.UUIDField(widget=forms.HiddenInput, required=False, initial=uuid4)
    day = forms.DateField(label=_("day"))
    started = forms.TimeField(label=_("started"), widget=forms.TimeInput)
    ended = forms.TimeField(label=_("ended"), widget=forms.TimeInput)
    which_hour = forms.ChoiceField(
        label=_("which of two"),
        choices=HOURS_OF_TWO,
        required=False,
        help_text=_("The clocks go back that night and show the hour twice."),
    )
    note = forms.CharField(label=_("note"), widget=SHORT, max_length=2000, required=False)
    from_paper = forms.BooleanField(label=_("entered from paper"), required=False)

    def __init__(
        self,
        *args,
        visit: Visit,
        offered: Offered,
        may_be_paper: bool = False,
        unfinished: bool = False,
        **kwargs,
    ):
        super().__init__(*args, **kwargs)
        self.is_unfinished = unfinished
        self.visit, self.offered = visit, offered
        self.zone = visit.course.property.zone()
        self.asks_which_hour = False
        self._begin(visit, offered)
        # Who sits in the office enters what others wrote, so the mark cannot be taken off.
        self.fields["from_paper"].disabled = bool(self.initial.get("from_paper"))
        if not may_be_paper:
            del self.fields["from_paper"]

    def _begin(self, visit: Visit, offered: Offered) -> None:
        now = timezone.now().astimezone(self.zone)
        for name, limit in offered.limits.items():
            self.fields[name].help_text = limit
        for asked, name in MEASURED_FOR.items():
            if asked in offered.asked:
                hints = [self.fields[name].help_text, offered.asked[asked]]
                self.fields[name].help_text = " · ".join(str(hint) for hint in hints if hint)
                mark_asked(self.fields[name])
        self.fields["day"].initial = offered.day
        if visit.started_at:
            self.fields["started"].initial = f"{visit.started_at.astimezone(self.zone):%H:%M}"
            self.fields["ended"].initial = f"{now:%H:%M}"

    def clean(self):
        """Turn the hours of the property into instants; what is unfinished is left as typed."""
        super().clean()
        typed = self.cleaned_data
        if self.is_unfinished:
            return typed
        day = typed.get("day")
        if day is None:
            return typed
        for name, hour in (("started_at", "started"), ("done_at", "ended")):
            if typed.get(hour) is not None:
                typed[name] = self._instant(hour, day, typed[hour])
        self._refuse_odd_hours(typed)
        return typed

    def _instant(self, name: str, day: date, hour: time) -> datetime | None:
        which = self.cleaned_data.get("which_hour", "")
        first = {"first": True, "second": False}.get(which)
        facts = {"day": day.isoformat(), "hour": f"{hour:%H:%M}"}
        try:
            return instant_of(day, hour, self.visit.course.property.time_zone, first=first)
        except HourComesTwice:
            self.asks_which_hour = True
            self.add_error("which_hour", _(HourComesTwice.sentence) % facts)
        except HourDoesNotExist:
            self.add_error(name, _(HourDoesNotExist.sentence) % facts)
        return None

    def _refuse_odd_hours(self, typed: dict) -> None:
        started, done = typed.get("started_at"), typed.get("done_at")
        if started and done and done < started:
            self.add_error("ended", _("The work ended after it started."))
        if done and done > timezone.now() + AHEAD:
            self.add_error("ended", _("That is later than now; type when the work really ended."))

    def full_clean(self):
        """Read what was typed; of an unfinished form nothing is asked for."""
        super().full_clean()
        if self.is_unfinished:
            self.errors.clear()

    def asks_hour(self) -> bool:
        """Say whether the hour that comes twice is to be asked for."""
        return self.asks_which_hour or bool(self.data.get("which_hour"))

    def told(self) -> dict[str, Any]:
        """Return what was done as `complete_visit` is told of it."""
        typed = self.cleaned_data
        return {
            "reports": self.applications(),
            "conditions": self.conditions(typed["started_at"]) if self.is_measured() else None,
            "started_at": typed["started_at"],
            "done_at": typed["done_at"],
            "applicator": typed.get("applicator"),
            "supervisor": typed.get("supervisor"),
            "captured_at": timezone.now(),
            "from_paper": bool(typed.get("from_paper")),
            "posted_at": typed.get("posted_moment"),
            "note": typed["note"],
            "form_id": typed.get("form_id"),
        }

    def applications(self) -> tuple[ApplicationReport, ...]:
        """Return what was applied: nothing."""
        return ()

    def has_amounts(self) -> bool:
        """Say whether amounts and who applied were typed: there are none."""
        return False


class SprayForm(InPartForm, WorkForm):
    """What was sprayed: the amounts really used on each planting, of which lot, by whom."""

    lot = forms.ModelChoiceField(
        Lot.objects.none(), label=_("lot"), required=False, empty_label=_("not in the store's book")
    )
    sprayer = forms.ModelChoiceField(
        Sprayer.objects.none(), label=_("sprayer"), required=False, empty_label=_("another")
    )
    applicator = forms.ModelChoiceField(
        Applicator.objects.none(), label=_("who applied"), empty_label=_("choose")
    )
    supervisor = forms.ModelChoiceField(
        Applicator.objects.none(),
        label=_("under whom"),
        required=False,
        empty_label=_("nobody else"),
        help_text=_("The certified applicator, where who applied has no certificate."),
    )
    worn = forms.CharField(
        label=_("protective equipment worn"),
        widget=SHORT,
        max_length=1000,
        required=False,
    )
    posted = forms.TimeField(label=_("sign put up at"), widget=forms.TimeInput, required=False)
    incident = forms.CharField(
        label=_("spill, drift or injury"), widget=SHORT, max_length=2000, required=False
    )

    def __init__(self, *args, **kwargs):
        super().__init__(*args, **kwargs)
        offered = self.offered
        self._offer_people(offered)
        self.fields["worn"].initial = "; ".join(offered.wears)
        self._offer_lots(offered)
        self._offer_sprayers(offered)
        self.offer_plantings(self.plantings())
        self._ask_amounts(offered)
        self._ask_for_the_place(offered)

    def _ask_for_the_place(self, offered: Offered) -> None:
        """Ask for what only the rules of this place want to know."""
        for typed in typed_at(offered.asked):
            self.fields[typed.name] = forms.CharField(
                label=typed.label,
                required=False,
                max_length=typed.longest,
                help_text=typed.asked_by,
            )
            mark_asked(self.fields[typed.name])

    def asked_here(self):
        """Return the fields that only the rules of this place ask for."""
        return [self[typed.name] for typed in typed_at(self.offered.asked)]

    def _told_for_the_place(self) -> dict[str, str]:
        names = (field.name for field in self.asked_here())
        return {name: typed for name in names if (typed := self.cleaned_data[name])}

    def _offer_people(self, offered: Offered) -> None:
        applicator: Any = self.fields["applicator"]
        supervisor: Any = self.fields["supervisor"]
        people = Applicator.objects.filter(pk__in=[each.pk for each in offered.applicators])
        applicator.queryset = supervisor.queryset = people
        applicator.initial = offered.applicator
        supervisor.initial = offered.applicator and offered.applicator.supervisor

    def _offer_lots(self, offered: Offered) -> None:
        chosen: Any = self.fields["lot"]
        day = offered.day
        chosen.queryset = Lot.objects.filter(pk__in=[lot.pk for lot in offered.lots])
        chosen.choices = [
            *((lot.pk, lot_in_words(lot, day)) for lot in offered.lots),
            ("", chosen.empty_label),
        ]
        chosen.initial = offered.lots[0].pk if offered.lots else None

    def _offer_sprayers(self, offered: Offered) -> None:
        chosen: Any = self.fields["sprayer"]
        chosen.queryset = Sprayer.objects.filter(pk__in=[each.pk for each in offered.sprayers])
        chosen.initial = offered.sprayer

    def _ask_amounts(self, offered: Offered) -> None:
        unit = self.visit.rotation_week.sprayed_product().stock_unit
        for planting in self.plantings():
            product, gallons = offered.used.get(planting.pk, (None, None))
            label = _("product on %(planting)s") % {"planting": planting.name}
            hint = offered.measures.get(planting.pk, "")
            self.fields[f"amount_{planting.pk}"] = amount(label, unit, product, hint)
            label = _("spray on %(planting)s") % {"planting": planting.name}
            self.fields[f"spray_{planting.pk}"] = amount(label, _("gal"), gallons)
            for name in (f"amount_{planting.pk}", f"spray_{planting.pk}"):
                self.fields[name].required = not self.is_left(planting)

    def plantings(self) -> list[Planting]:
        """Return the plantings of the visit."""
        return list(self.visit.course.plantings.all())

    def clean(self):
        """Read the hour of the sign as well."""
        typed = super().clean()
        if self.is_unfinished:
            return typed
        if typed.get("posted") is not None and typed.get("day") is not None:
            typed["posted_moment"] = self._instant("posted", typed["day"], typed["posted"])
        return typed

    def applications(self) -> tuple[ApplicationReport, ...]:
        """Return what was applied on each planting."""
        typed = self.cleaned_data
        return tuple(
            ApplicationReport(
                planting=planting,
                lot=typed["lot"],
                product_amount=typed[f"amount_{planting.pk}"],
                mix_gallons=typed[f"spray_{planting.pk}"],
                sprayer=typed["sprayer"],
                protective_equipment=typed["worn"],
                incident=typed["incident"],
                note=typed["note"],
                also=self._told_for_the_place(),
            )
            for planting in self.plantings()
            if not self.is_left(planting)
        )

    def told(self) -> dict[str, Any]:
        """Return what was done, with what was left."""
        told = super().told()
        flags = self.flags_in_part(self.plantings())
        return told | {"flags": flags, "note": self.note_in_part(told["note"])}

    def has_amounts(self) -> bool:
        """Say whether amounts and who applied were typed, so that labels can be asked."""
        needed = [name for name in self.amount_names() if self.fields[name].required]
        return all(self.cleaned_data.get(name) for name in ["applicator", *needed])

    def amount_names(self) -> list[str]:
        """Return the names of the fields of what was used, planting by planting."""
        return [name for name in self.fields if name.startswith(("amount_", "spray_"))]

    def amounts(self):
        """Return the fields of what was used, planting by planting."""
        return [self[name] for name in self.amount_names()]


def lot_in_words(lot: Lot, day: date) -> str:
    """Return a lot as it is chosen: its number, until when it is good, what is left."""
    facts = {
        "lot": lot.lot_number or lot.not_marked_reason,
        "left": f"{lot.balance.normalize():f}",
        "unit": lot.product.stock_unit,
        "day": told(lot.expires_on),
    }
    if lot.expires_on is None:
        return _("%(lot)s: %(left)s %(unit)s") % facts
    if lot.expires_on < day:
        return _("%(lot)s, EXPIRED %(day)s: %(left)s %(unit)s") % facts
    return _("%(lot)s, expires %(day)s: %(left)s %(unit)s") % facts

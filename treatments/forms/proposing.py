"""What a person types to have rotations proposed; all of it stands in the address."""

import re
from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from clients.models import Planting
from clients.offering import OfferingForm
from treatments.models import Pest
from treatments.proposing import Asked, temperatures_near
from treatments.rules.composing import BINDING, Family, Wishes
from treatments.rules.composing.seasons import FEWEST_WEEKS, MOST_WEEKS
from treatments.rules.rate_choice import RateWish

WISHES = [
    "organic_only",
    "cheapest",
    "gentlest",
    "fewest_visits",
    "without_warnings",
    "dusk_possible",
]
NUMBER = re.compile(r"[0-9]{1,6}(\.[0-9]{1,3})?")  # as rates are kept
USUAL_NIGHTS_F, USUAL_AFTERNOONS_F = 65, 85  # a warm week, to begin with: our own choice
RATES = [
    (RateWish.BY_COUNT.value, _("by how heavy the last count is")),
    (RateWish.LOWEST.value, _("the lowest of the label")),
    (RateWish.MIDDLE.value, _("the middle of the label")),
    (RateWish.HIGHEST.value, _("the highest of the label")),
]
OWN_RATE = "rate-"  # before a product's id, in the address


class ProposalForm(OfferingForm):
    """Plantings, pest, days and wishes."""

    plantings = forms.ModelMultipleChoiceField(
        Planting.objects.none(),
        label=_("plantings"),
        help_text=_("One or more of one site on labels; hold Ctrl or ⌘ to choose several."),
        widget=forms.SelectMultiple(attrs={"size": 8}),
    )
    pest = forms.ModelChoiceField(Pest.objects.all(), label=_("pest"))
    first_day = forms.DateField(label=_("first day"))
    weeks = forms.IntegerField(
        label=_("number of weeks"), min_value=FEWEST_WEEKS, max_value=MOST_WEEKS
    )
    nights_f = forms.DecimalField(
        label=_("nights of the warmest week"),
        max_digits=4,
        decimal_places=1,
        min_value=-40,
        max_value=120,
        required=False,
        help_text=_(
            "From nights and days the book works out how soon eggs must be met again. They are "
            "filled in where a station is near."
        ),
    )
    afternoons_f = forms.DecimalField(
        label=_("days of the warmest week"),
        max_digits=4,
        decimal_places=1,
        min_value=-40,
        max_value=130,
        required=False,
    )
    rates = forms.ChoiceField(
        label=_("rates"),
        choices=RATES,
        help_text=_("Where a label gives a range. Each can be changed under the answer."),
    )
    organic_only = forms.BooleanField(label=_("organic products only"), required=False)
    cheapest = forms.BooleanField(label=_("as cheap as can be"), required=False)
    gentlest = forms.BooleanField(
        label=_("as gentle to bees and other beneficials as can be"), required=False
    )
    fewest_visits = forms.BooleanField(label=_("as few visits as can be"), required=False)
    visit_reach_days = forms.IntegerField(
        label=_("most days between two visits"),
        min_value=7,
        max_value=90,
        required=False,
        help_text=_("For few visits only. Left blank, eggs decide, or what is common practice."),
    )
    without_warnings = forms.BooleanField(
        label=_("no product with a warning"),
        required=False,
        help_text=_("Otherwise as few as can be, each with a reason when it is kept."),
    )
    dusk_possible = forms.BooleanField(
        label=_("a crew can go at dusk where bees forbid the day"), required=False
    )
    may_buy = forms.BooleanField(
        label=_("what is not in the store may be bought, where it has a price"), required=False
    )

    def __init__(self, *args, user, **kwargs):
        super().__init__(*args, **kwargs)
        seen = Planting.objects.for_user(user).select_related("property__client")
        choice: Any = self.fields["plantings"]
        choice.queryset = seen

    def clean_plantings(self):
        chosen = list(self.cleaned_data["plantings"])
        if len({planting.plant_group for planting in chosen}) > 1:
            raise forms.ValidationError(
                _("These plantings are of different sites on labels. Choose those of one."),
                code="sites",
            )
        return chosen

    def clean(self):
        super().clean()
        typed = self.cleaned_data
        nights, afternoons = typed.get("nights_f"), typed.get("afternoons_f")
        if (nights is None) != (afternoons is None) and not self.errors:
            self.add_error("afternoons_f", _("Give both temperatures, or neither."))
        if nights is not None and afternoons is not None and afternoons < nights:
            self.add_error("afternoons_f", _("Days are warmer than nights."))
        return typed

    def asked(
        self,
        *,
        today: date,
        pins: Mapping[int, str],
        given_up: frozenset[Family],
        own_rates: Mapping[int, Decimal],
    ) -> Asked | None:
        """Return what is asked for, or None with the reason beside the field."""
        typed = self.cleaned_data
        asked = Asked(
            plantings=tuple(typed["plantings"]),
            pest=typed["pest"],
            first_day=typed["first_day"],
            weeks=typed["weeks"],
            today=today,
            wishes=Wishes(given_up=given_up, **{name: typed[name] for name in WISHES}),
            pins=pins,
            nights_f=typed["nights_f"],
            afternoons_f=typed["afternoons_f"],
            visit_reach_days=typed["visit_reach_days"],
            rates=RateWish(typed["rates"]),
            own_rates=own_rates,
            may_buy=typed["may_buy"],
        )
        return asked if self._can_be_asked(asked) else None

    def _can_be_asked(self, asked: Asked) -> bool:
        if asked.days()[-1] < asked.today:
            self.add_error("first_day", _("All these weeks are over."))
        told = asked.egg_reach()
        reach = asked.visit_reach_days or told.days or told.visit_days
        if asked.wishes.fewest_visits and reach is None:
            self.add_error(
                "visit_reach_days", _("Say how many days may lie between two visits at most.")
            )
        return not self.errors


def begun(today: date, planting: Planting | None) -> dict[str, Any]:
    """Return what stands in the form before anybody typed, about a planting where one is named."""
    known = temperatures_near(planting.property, today) if planting else None
    nights_f, afternoons_f = known or (USUAL_NIGHTS_F, USUAL_AFTERNOONS_F)
    return {
        "first_day": today,
        "weeks": 6,
        "nights_f": nights_f,
        "afternoons_f": afternoons_f,
        "dusk_possible": True,
        "may_buy": True,
    }


def pins_sent(sent: list[str]) -> dict[int, str]:
    """Return the fixed weeks as they stand in an address: a week, a colon, a product or "skip".

    >>> pins_sent(["2:14", "3:skip", "nothing", "2:15"])
    {2: '15', 3: 'skip'}
    """
    pins = {}
    for text in sent:
        week, _colon, code = text.partition(":")
        if week.isascii() and week.isdigit() and len(week) < 3 and code:
            pins[int(week)] = code
    return pins


def own_rates_sent(query: Mapping[str, Any]) -> dict[int, Decimal]:
    """Return the rates that a person chose, by the product's id; what is no number is passed over.

    >>> own_rates_sent({"rate-14": "1.5", "rate-x": "2", "rate-15": "", "rates": "lowest"})
    {14: Decimal('1.5')}
    """
    typed = {
        name.removeprefix(OWN_RATE): str(text).strip()
        for name, text in query.items()
        if name.startswith(OWN_RATE)
    }
    return {
        int(key): Decimal(text)
        for key, text in typed.items()
        if key.isascii() and key.isdigit() and NUMBER.fullmatch(text)
    }


def given_up_sent(sent: list[str]) -> frozenset[Family]:
    """Return the wishes that are given up; what binds, or is none, is passed over.

    >>> sorted(given_up_sent(["eggs", "label", "weather"]))
    [<Family.EGGS: 'eggs'>]
    """
    known = {family.value: family for family in Family if family not in BINDING}
    return frozenset(known[text] for text in sent if text in known)

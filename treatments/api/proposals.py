"""Rotations proposed to programs, with the reasons."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from decimal import Decimal

from django.utils import timezone
from django.utils.translation import gettext
from rest_framework import serializers

from clients.access import OFFICE, has_role
from treatments.api.findings import FindingSerializer, told_finding
from treatments.api.keeping import PlantingField
from treatments.composing import WEEK_COLUMNS
from treatments.models import Pest, RotationWeek
from treatments.proposing import SKIPPED, Asked, NothingOnOffer, Proposed, propose, weeks_of
from treatments.rules.composing import (
    BINDING,
    Conflict,
    Family,
    PinKind,
    Plan,
    PlanWeek,
    ProofMissing,
    SeasonUnusable,
    Standing,
    Stands,
    Wishes,
)
from treatments.rules.composing.seasons import FEWEST_WEEKS, MOST_WEEKS
from treatments.rules.findings import Finding
from treatments.rules.rate_choice import RateWish

CENT = Decimal("0.01")
PRICES_ARE_FOR = "Null for all but owner and office."
WISHES = [family.value for family in Family if family not in BINDING]


@dataclass(frozen=True, slots=True)
class ToldToo:
    """What is told beside the plans: reasons of some weeks, of all in one table, and prices."""

    weeks: frozenset[int] = frozenset()
    table: bool = False
    prices: bool = False


class WishesSerializer(serializers.Serializer):
    """What is asked beyond labels and law."""

    organic_only = serializers.BooleanField(default=False)
    cheapest = serializers.BooleanField(default=False)
    gentlest = serializers.BooleanField(default=False)
    fewest_visits = serializers.BooleanField(default=False)
    without_warnings = serializers.BooleanField(default=False)
    dusk_possible = serializers.BooleanField(default=True)
    given_up = serializers.ListField(
        child=serializers.ChoiceField(choices=WISHES), default=list, max_length=len(WISHES)
    )


class WeekColumnsSerializer(serializers.ModelSerializer):
    """A week as a rotation keeps it."""

    class Meta:
        model = RotationWeek
        fields = WEEK_COLUMNS


class PinSerializer(serializers.Serializer):
    """A week that is fixed to a product, or left out."""

    week = serializers.IntegerField(min_value=1, max_value=MOST_WEEKS)
    product = serializers.IntegerField(
        min_value=1, allow_null=True, help_text="Empty where nobody goes."
    )


class OwnRateSerializer(serializers.Serializer):
    """A rate that a person chose, in the label's basis; outside the label it is not taken."""

    product = serializers.IntegerField(min_value=1)
    rate = serializers.DecimalField(max_digits=9, decimal_places=3, min_value=0)


class AskedSerializer(serializers.Serializer):
    """What rotations are to be proposed for."""

    plantings = PlantingField(many=True, allow_empty=False)
    pest = serializers.PrimaryKeyRelatedField(queryset=Pest.objects.all())
    first_day = serializers.DateField()
    weeks = serializers.IntegerField(min_value=FEWEST_WEEKS, max_value=MOST_WEEKS)
    wishes = WishesSerializer(default=dict)
    pins = PinSerializer(many=True, required=False)
    nights_f = serializers.DecimalField(
        max_digits=4, decimal_places=1, allow_null=True, default=None
    )
    afternoons_f = serializers.DecimalField(
        max_digits=4, decimal_places=1, allow_null=True, default=None
    )
    visit_reach_days = serializers.IntegerField(
        min_value=7, max_value=90, allow_null=True, default=None
    )
    rates = serializers.ChoiceField(
        choices=[wish.value for wish in RateWish],
        default=RateWish.BY_COUNT.value,
        help_text="How a rate is chosen where a label gives a range.",
    )
    own_rates = OwnRateSerializer(many=True, required=False)
    may_buy = serializers.BooleanField(default=True)
    why_weeks = serializers.ListField(
        child=serializers.IntegerField(min_value=1, max_value=MOST_WEEKS),
        max_length=MOST_WEEKS,
        default=list,
        help_text="Weeks of which each plan says why it has no other product.",
    )
    with_table = serializers.BooleanField(
        default=False,
        help_text="Tell of each plan how every product stands in every week.",
    )

    def validate_plantings(self, plantings):
        if len({planting.plant_group for planting in plantings}) > 1:
            raise serializers.ValidationError(
                gettext("These plantings are of different sites on labels. Choose those of one.")
            )
        return plantings

    def validate(self, attrs):
        nights, afternoons = attrs["nights_f"], attrs["afternoons_f"]
        if (nights is None) != (afternoons is None):
            raise serializers.ValidationError(gettext("Give both temperatures, or neither."))
        if nights is not None and afternoons < nights:
            raise serializers.ValidationError(gettext("Days are warmer than nights."))
        return attrs

    def told_too(self) -> ToldToo:
        """Return which reasons are asked for beside the plans."""
        typed = self.validated_data
        user = self.context["request"].user
        return ToldToo(frozenset(typed["why_weeks"]), typed["with_table"], has_role(user, OFFICE))

    def proposed(self) -> Proposed:
        """Return what is proposed; raise a ValidationError where nothing can be."""
        told = dict(self.validated_data)
        del told["why_weeks"], told["with_table"]
        wishes = dict(told.pop("wishes"))
        given_up = frozenset(Family(value) for value in wishes.pop("given_up", ()))
        pins = {each["week"]: str(each["product"] or SKIPPED) for each in told.pop("pins", ())}
        own_rates = {each["product"]: each["rate"] for each in told.pop("own_rates", ())}
        plantings = tuple(told.pop("plantings"))
        asked = Asked(
            plantings=plantings,
            today=timezone.localdate(),
            wishes=Wishes(given_up=given_up, **wishes),
            pins=pins,
            rates=RateWish(told.pop("rates")),
            own_rates=own_rates,
            **told,
        )
        try:
            return propose(asked)
        except (NothingOnOffer, ProofMissing, SeasonUnusable) as refused:
            raise serializers.ValidationError({"non_field_errors": [str(refused)]}) from refused


class ReasonSerializer(serializers.Serializer):
    """What speaks against a product in a week."""

    week = serializers.IntegerField()
    product = serializers.IntegerField()
    findings = FindingSerializer(many=True)


class StandingSerializer(serializers.Serializer):
    """How a product stands in a week: in a word, and in sentences."""

    week = serializers.IntegerField()
    stands = serializers.ChoiceField(choices=[each.value for each in Stands])
    short = serializers.CharField()
    findings = FindingSerializer(many=True)


class TableRowSerializer(serializers.Serializer):
    """A product over all weeks."""

    product = serializers.IntegerField()
    name = serializers.CharField()
    weeks = StandingSerializer(many=True)


class ProposedWeekSerializer(serializers.Serializer):
    """A week of a proposal; without a product nobody goes, or it is done."""

    week = serializers.IntegerField()
    day = serializers.DateField()
    product = serializers.IntegerField(allow_null=True)
    rate = serializers.DecimalField(max_digits=10, decimal_places=3, allow_null=True)
    basis = serializers.CharField(allow_blank=True)
    rate_reason = FindingSerializer(
        allow_null=True, help_text="Why this rate, where the label gives a range."
    )
    at_dusk = serializers.BooleanField()
    cost_usd = serializers.DecimalField(
        max_digits=12, decimal_places=2, allow_null=True, help_text=PRICES_ARE_FOR
    )
    fixed_as = serializers.ChoiceField(
        choices=[kind.value for kind in PinKind], allow_null=True, help_text="Empty where free."
    )


class ToBuySerializer(serializers.Serializer):
    """What the store lacks for a proposal, in the unit the product is kept in."""

    product = serializers.CharField()
    amount = serializers.DecimalField(max_digits=12, decimal_places=3)


class ProposalSerializer(serializers.Serializer):
    """One rotation that is proposed."""

    cost_usd = serializers.DecimalField(
        max_digits=12, decimal_places=2, allow_null=True, help_text=PRICES_ARE_FOR
    )
    cost_unknown = serializers.ListField(child=serializers.CharField())
    visits = serializers.IntegerField()
    risk_points = serializers.DecimalField(max_digits=8, decimal_places=2)
    groups = serializers.DictField(child=serializers.IntegerField())
    to_buy = ToBuySerializer(many=True)
    weeks = ProposedWeekSerializer(many=True)
    rotation_weeks = WeekColumnsSerializer(many=True)
    findings = FindingSerializer(many=True)
    why_not = ReasonSerializer(many=True)
    table = TableRowSerializer(many=True)


class ConflictSerializer(serializers.Serializer):
    """Why there is no rotation, and which wishes would free one."""

    rules = serializers.ListField(child=serializers.CharField())
    freed_by = serializers.ListField(child=serializers.ListField(child=serializers.CharField()))
    findings = FindingSerializer(many=True)


class NotOnOfferSerializer(serializers.Serializer):
    """A product that is not on offer."""

    product = serializers.IntegerField()
    findings = FindingSerializer(many=True)


class ProposedSerializer(serializers.Serializer):
    """The best rotations, or why there is none, with all reasons."""

    plans = ProposalSerializer(many=True)
    conflict = ConflictSerializer(allow_null=True)
    egg_reach_days = serializers.IntegerField(allow_null=True)
    visit_reach_days = serializers.IntegerField(allow_null=True)
    notes = FindingSerializer(many=True)
    barred = ReasonSerializer(many=True)
    left_out = NotOnOfferSerializer(many=True)


def told_proposed(proposed: Proposed, too: ToldToo) -> dict:
    """Return what is proposed as the API tells it."""
    answer = proposed.answer
    return {
        "plans": [_plan(proposed, plan, too) for plan in answer.plans],
        "conflict": _conflict(answer.conflict) if answer.conflict else None,
        "egg_reach_days": proposed.egg_reach.days,
        "visit_reach_days": answer.season.reach_of_visits(),
        "notes": [told_finding(each) for each in proposed.notes()],
        "barred": [
            _reason(week, code, findings) for (week, code), findings in answer.barred.items()
        ],
        "left_out": [
            {"product": each.product.pk, "findings": [told_finding(each.finding)]}
            for each in proposed.left_out
        ],
    }


def _plan(proposed: Proposed, plan: Plan, too: ToldToo) -> dict:
    told = {
        "cost_usd": plan.cost.quantize(CENT) if too.prices else None,
        "cost_unknown": plan.cost_unknown,
        "visits": plan.visits,
        "risk_points": plan.risk,
        "groups": plan.groups,
        "to_buy": [{"product": name, "amount": amount} for name, amount in plan.to_buy.items()],
        "weeks": [_week(week, too.prices) for week in plan.weeks],
        "rotation_weeks": weeks_of(plan),
        "findings": [told_finding(each) for each in plan.findings],
        "why_not": list(_why_not(proposed, plan, too.weeks)),
        "table": list(_table(proposed, plan)) if too.table else [],
    }
    return ProposalSerializer(told).data


def _week(week: PlanWeek, prices: bool) -> dict:
    offer, application = week.offer, week.application
    return {
        "week": week.week,
        "day": week.day,
        "product": int(offer.code) if offer else None,
        "rate": offer.rate if offer else None,
        "basis": offer.basis if offer else "",
        "rate_reason": told_finding(offer.why_rate) if offer and offer.why_rate else None,
        "at_dusk": bool(application and application.at_dusk),
        "cost_usd": week.cost.quantize(CENT) if prices else None,
        "fixed_as": week.pin.kind.value if week.pin else None,
    }


def _why_not(proposed: Proposed, plan: Plan, why_weeks: Iterable[int]) -> Iterator[dict]:
    own = plan.codes()
    for week in sorted({week for week in why_weeks if week <= len(own)}):
        for offer in proposed.answer.season.offers:
            if offer.code != own[week - 1]:
                findings = proposed.answer.why_not(plan, week, offer.code)
                yield _reason(week, offer.code, findings)


def _table(proposed: Proposed, plan: Plan) -> Iterator[dict]:
    season = proposed.answer.season
    standings = proposed.answer.standings(plan)
    for offer in season.offers:
        weeks = [(week, standings[week, offer.code]) for week in range(1, len(season.days) + 1)]
        yield {
            "product": int(offer.code),
            "name": offer.product.name,
            "weeks": [_standing(week, standing) for week, standing in weeks],
        }


def _standing(week: int, standing: Standing) -> dict:
    return {
        "week": week,
        "stands": standing.stands.value,
        "short": gettext(standing.short),
        "findings": [told_finding(each) for each in standing.findings],
    }


def _reason(week: int, code: str, findings: Iterable[Finding]) -> dict:
    return {
        "week": week,
        "product": int(code),
        "findings": [told_finding(finding) for finding in findings],
    }


def _conflict(conflict: Conflict) -> dict:
    return {
        "rules": [family.value for family in conflict.families],
        "freed_by": [[family.value for family in each] for each in conflict.remedies],
        "findings": [told_finding(each) for each in conflict.findings],
    }

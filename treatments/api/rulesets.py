"""What the rules of each place ask, how far that is sure, and what the business chose."""

from django.http import Http404
from django.utils import timezone
from django.utils.translation import gettext as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, status, viewsets
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import STAFF, Role
from clients.permissions import ByRole
from treatments.clocks import home_day
from treatments.forms.rulesets import OwnRuleSetForm
from treatments.models import OwnRuleSet, RuleChoice
from treatments.rulebook import choose_rules, confirm_facts, enter_ruleset
from treatments.rules.records import FIELDS, unsure_facts
from treatments.views.rulesets import (
    fact_rows,
    is_federal,
    known_or_404,
    places,
    row_of,
    rules_of_places,
)

OWNER = frozenset({Role.OWNER})
CODE = [OpenApiParameter("code", str, OpenApiParameter.PATH, description="Such as US-NJ.")]


class FactSerializer(serializers.Serializer):
    """A fact of a rule set, and whether somebody compared it with the code."""

    fact = serializers.CharField()
    name = serializers.CharField()
    is_sure = serializers.BooleanField()
    compared_on = serializers.DateField(allow_null=True)
    compared_with = serializers.CharField()


class PlaceSerializer(serializers.Serializer):
    """A place, the rule set that the business works under there today, and what is not sure."""

    code = serializers.CharField()
    name = serializers.CharField()
    properties = serializers.IntegerField()
    is_known = serializers.BooleanField()
    is_own = serializers.BooleanField()
    unsure = serializers.ListField(child=serializers.CharField())


class PlaceWithFactsSerializer(PlaceSerializer):
    """A place with the facts of its rule set."""

    facts = FactSerializer(many=True)


class ConfirmSerializer(serializers.Serializer):
    """Which facts were found to agree with the code, when, and with what they were compared."""

    facts = serializers.ListField(child=serializers.CharField(max_length=40), allow_empty=False)
    compared_on = serializers.DateField()
    compared_with = serializers.CharField(max_length=300)

    def validate_facts(self, facts):
        """Refuse what is not among the facts that are to be compared."""
        if unknown := sorted(set(facts) - self.context["unsure"]):
            sentence = _("%(fact)s is no fact that is still to be compared.")
            raise serializers.ValidationError(sentence % {"fact": unknown[0]})
        return facts

    def validate_compared_on(self, day):
        """Refuse a day that is still to come."""
        if day > home_day():
            raise serializers.ValidationError(_("That day is still to come."))
        return day


class ChoiceSerializer(serializers.Serializer):
    """Under which rule set the business works from a day on."""

    uses = serializers.ChoiceField(choices=RuleChoice.Uses.choices)
    holds_from = serializers.DateField()


class OwnRuleSetSerializer(serializers.ModelSerializer):
    """A version of the business's own rule set."""

    required_fields = serializers.ListField(
        child=serializers.ChoiceField(choices=list(FIELDS.items())), allow_empty=False
    )

    class Meta:
        model = OwnRuleSet
        fields = [*OwnRuleSetForm.Meta.fields, "number"]
        read_only_fields = ["number"]


class RuleSetViewSet(viewsets.ViewSet):
    """The rules of places, by the code of the place."""

    permission_classes = [ByRole]
    readers = STAFF
    writers = OWNER
    lookup_field = "code"
    lookup_value_regex = "[^/]+"

    @extend_schema(responses=PlaceSerializer(many=True))
    def list(self, request):
        """Return every place with its rule set."""
        rows = [row_of(code, known, number) for code, known, number in rules_of_places()]
        return Response([told_place(row) for row in rows])

    @extend_schema(parameters=CODE, responses=PlaceWithFactsSerializer)
    def retrieve(self, request, code):
        """Return a place with the facts of its rule set."""
        return Response(with_facts(code))

    @extend_schema(parameters=CODE, request=ConfirmSerializer, responses=PlaceWithFactsSerializer)
    @action(detail=True, methods=["post"])
    def confirm(self, request, code):
        """Keep which facts the owner compared with the code; twice keeps them once."""
        known = known_or_404(code)
        context = {"unsure": {each.fact for each in unsure_facts(known)}}
        told = ConfirmSerializer(data=request.data, context=context)
        told.is_valid(raise_exception=True)
        confirm_facts(known, **told.validated_data, by=request.user, at=timezone.now())
        return Response(with_facts(code))

    @extend_schema(parameters=CODE, request=ChoiceSerializer, responses=PlaceWithFactsSerializer)
    @action(detail=True, methods=["post"])
    def choose(self, request, code):
        """Choose under which rule set the business works in a place."""
        if is_federal(code):
            raise Http404
        told = ChoiceSerializer(data=request.data)
        told.is_valid(raise_exception=True)
        choose_rules(jurisdiction=code, **told.validated_data, by=request.user, at=timezone.now())
        return Response(with_facts(code))

    @extend_schema(
        parameters=CODE, request=OwnRuleSetSerializer, responses={201: OwnRuleSetSerializer}
    )
    @action(detail=True, methods=["post"])
    def own(self, request, code):
        """Enter a rule set of the business's own, or its next version."""
        if is_federal(code) or code not in places():
            raise Http404
        told = OwnRuleSetSerializer(data=request.data)
        told.is_valid(raise_exception=True)
        kept = enter_ruleset(
            jurisdiction=code, **told.validated_data, by=request.user, at=timezone.now()
        )
        return Response(OwnRuleSetSerializer(kept).data, status.HTTP_201_CREATED)


def told_place(row) -> dict:
    """Return a place as the API tells it."""
    return {
        "code": row.code,
        "name": _(row.name),
        "properties": row.properties,
        "is_known": row.ruleset is not None,
        "is_own": row.ruleset is not None and row.ruleset.is_own,
        "unsure": [each.fact for each in row.unsure],
    }


def with_facts(code: str) -> dict:
    """Return a place with the facts of its rule set; raise Http404 where the book knows none."""
    known = known_or_404(code, or_nothing=True)
    unsure = {each.fact for each in unsure_facts(known)} if known else set()
    facts = [
        {
            "fact": row.fact.fact,
            "name": _(row.fact.name),
            "is_sure": row.fact.fact not in unsure,
            "compared_on": row.confirmed.compared_on if row.confirmed else None,
            "compared_with": row.confirmed.compared_with if row.confirmed else "",
        }
        for row in (fact_rows(known) if known else [])
    ]
    return told_place(row_of(code, known, places().get(code, 0))) | {"facts": facts}

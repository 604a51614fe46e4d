"""The mildest step that will do on a planting, with the heat, samples and efficacy behind it."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.response import Response

from clients.access import CREW, Role
from clients.models import Planting
from treatments.api.keeping import ByRoleViewSet
from treatments.api.rotations import FindingSerializer, told_finding
from treatments.looking import PestLook, look_at_planting
from treatments.rules.ladder import Rung, Standing, Step
from treatments.sampling_plans import plan_for, threshold_for


class RungSerializer(serializers.Serializer):
    """A step, how it stands, and why."""

    rung = serializers.ChoiceField(choices=[each.value for each in Step])
    standing = serializers.ChoiceField(choices=[each.value for each in Standing])
    reason = FindingSerializer()


class SampleSerializer(serializers.Serializer):
    """How to look next time: leaves counted, leaves for presence, plants beaten, beats on each."""

    leaves = serializers.IntegerField()
    leaves_for_presence = serializers.IntegerField()
    plants_beaten = serializers.IntegerField()
    beats_each = serializers.IntegerField()


class LookSerializer(serializers.Serializer):
    """What is known of one pest on the planting."""

    pest = serializers.IntegerField()
    counted_at = serializers.DateTimeField()
    per_leaf = serializers.FloatField()
    threshold = serializers.FloatField(allow_null=True)
    threshold_source = serializers.CharField()
    rungs = RungSerializer(many=True)
    beside = FindingSerializer(many=True)
    heat = FindingSerializer(many=True)
    degree_days = serializers.FloatField(allow_null=True)
    degree_days_unit = serializers.CharField(allow_blank=True)
    outlook = FindingSerializer(many=True)
    efficacy = FindingSerializer(many=True)
    sample = SampleSerializer()


class LadderSerializer(serializers.Serializer):
    """A planting, and pest by pest what is known of it."""

    planting = serializers.IntegerField()
    pests = LookSerializer(many=True)


class LadderViewSet(ByRoleViewSet):
    """Ladders, by the id of their planting."""

    readers = CREW
    writers: frozenset[Role] = frozenset()
    queryset = Planting.objects.select_related("property__client")
    serializer_class = LadderSerializer

    @extend_schema(responses=LadderSerializer)
    def retrieve(self, request, pk):
        """Say what is the mildest step that will do against each pest counted on a planting."""
        planting = self.get_object()
        today = timezone.now().astimezone(planting.property.zone()).date()
        pests = [told_look(look, planting) for look in look_at_planting(planting, today)]
        return Response({"planting": planting.pk, "pests": pests})


def told_look(look: PestLook, planting: Planting) -> dict:
    """Return what is known of a pest as the API tells it."""
    last, warmth = look.counts[-1], look.warmth
    level, source = threshold_for(look.pest, planting)
    presence = [look.presence] if look.presence else []
    return {
        "pest": look.pest.pk,
        "counted_at": last.scouted_at,
        "per_leaf": last.motiles_per_leaf(),
        "threshold": level,
        "threshold_source": source,
        "rungs": [told_rung(rung) for rung in look.steps.ladder.rungs],
        "beside": [told_finding(each) for each in (*presence, *look.steps.beside)],
        "heat": [told_finding(each) for each in (warmth.findings if warmth else ())],
        "degree_days": warmth.total.total if warmth else None,
        "degree_days_unit": warmth.unit if warmth else "",
        "outlook": [told_finding(each) for each in look.outlook.findings],
        "efficacy": [told_finding(each) for each in look.efficacy()],
        "sample": SampleSerializer(plan_for(planting, look.pest, last)).data,
    }


def told_rung(rung: Rung) -> dict:
    """Return a rung as the API tells it."""
    return {
        "rung": rung.step.value,
        "standing": rung.standing.value,
        "reason": told_finding(rung.reason),
    }

"""Rotations with their weeks, and what the rules say of them."""

from django.core.exceptions import ValidationError as RuleBroken
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import CERTIFIED, STAFF
from clients.api import VersionStale, etag_of, version_read
from clients.models import PlantGroup
from treatments.api.findings import FindingSerializer, told_finding
from treatments.api.keeping import BookViewSet, PlantingField
from treatments.api.proposals import AskedSerializer, ProposedSerializer, told_proposed
from treatments.checking import check_course, check_weeks
from treatments.composing import WEEK_COLUMNS, FindingsStand, approve_rotation, keep_rotation
from treatments.models import AcceptedWarning, Pest, Rotation, RotationWeek
from treatments.rules.findings import Finding


class WeekSerializer(serializers.ModelSerializer):
    """One week of a rotation."""

    class Meta:
        model = RotationWeek
        fields = WEEK_COLUMNS


class AcceptedWarningSerializer(serializers.ModelSerializer):
    """A warning that was accepted, and why."""

    class Meta:
        model = AcceptedWarning
        fields = ["code", "week", "sentence", "reason", "accepted_by", "accepted_at"]
        read_only_fields = fields


class DraftSerializer(serializers.Serializer):
    """A rotation that need not be kept, with what it is to be checked against."""

    pest = serializers.PrimaryKeyRelatedField(queryset=Pest.objects.all())
    plant_group = serializers.ChoiceField(choices=PlantGroup.choices)
    first_day = serializers.DateField()
    plantings = PlantingField(many=True, required=False)
    weeks = WeekSerializer(many=True, allow_empty=False)

    def as_weeks(self) -> list[RotationWeek]:
        """Return the weeks, not kept."""
        return [RotationWeek(**week) for week in self.validated_data["weeks"]]

    def findings(self) -> list[Finding]:
        """Return what the rules say of the draft."""
        told = {**self.validated_data, "weeks": self.as_weeks()}
        return check_weeks(told.pop("weeks"), today=timezone.localdate(), **told)


class RotationSerializer(serializers.ModelSerializer):
    """A rotation; it is kept without a refusal and with a reason for each warning."""

    weeks = WeekSerializer(many=True, allow_empty=False)
    plant_group = serializers.ChoiceField(choices=PlantGroup.choices)
    first_day = serializers.DateField(write_only=True)
    plantings = PlantingField(many=True, required=False, write_only=True)
    reasons = serializers.DictField(
        child=serializers.CharField(max_length=1000), required=False, write_only=True
    )
    accepted_warnings = AcceptedWarningSerializer(many=True, read_only=True)

    class Meta:
        model = Rotation
        fields = [
            "id",
            "name",
            "pest",
            "plant_group",
            "note",
            "retired",
            "composed_by",
            "composed_at",
            "is_draft",
            "approved_by",
            "approved_at",
            "version",
            "weeks",
            "accepted_warnings",
            "first_day",
            "plantings",
            "reasons",
        ]
        read_only_fields = [
            "retired",
            "composed_by",
            "composed_at",
            "is_draft",
            "approved_by",
            "approved_at",
            "version",
        ]

    def create(self, validated_data):
        return self._kept(validated_data)

    def update(self, instance, validated_data):
        version = version_read(self.context["request"])
        return self._kept(validated_data, rotation=instance, version=version)

    def _kept(self, told: dict, **others) -> Rotation:
        weeks = [RotationWeek(**week) for week in told.pop("weeks")]
        by = self.context["request"].user
        try:
            kept = keep_rotation(weeks=weeks, by=by, **told, **others)
        except FindingsStand as stand:
            told_findings = [told_finding(each) for each in stand.findings]
            raise serializers.ValidationError(
                {"non_field_errors": stand.messages, "findings": told_findings}
            ) from stand
        except RuleBroken as refused:
            if getattr(refused, "code", "") == "stale":
                raise VersionStale(refused.messages[0]) from refused
            raise
        return Rotation.objects.prefetch_related("weeks", "accepted_warnings").get(pk=kept.pk)


class RotationWithFindingsSerializer(RotationSerializer):
    """A rotation with what the rules say of it today, without any planting."""

    findings = serializers.SerializerMethodField()

    class Meta(RotationSerializer.Meta):
        fields = [*RotationSerializer.Meta.fields, "findings"]

    @extend_schema(responses=FindingSerializer(many=True))
    def get_findings(self, rotation) -> list[dict]:
        """Return the findings as they would be if week one were today."""
        today = timezone.localdate()
        return [told_finding(each) for each in check_course(rotation, [], today, today)]


class RotationViewSet(BookViewSet):
    """Rotations."""

    readers = STAFF
    writers = STAFF
    http_method_names = ["get", "head", "options", "post", "put"]
    queryset = Rotation.objects.select_related("pest").prefetch_related(
        "weeks", "accepted_warnings"
    )
    serializer_class = RotationSerializer

    @extend_schema(responses=RotationWithFindingsSerializer)
    def retrieve(self, request, *args, **kwargs):
        rotation = self.get_object()
        told = RotationWithFindingsSerializer(rotation, context=self.get_serializer_context())
        return Response(told.data, headers={"ETag": etag_of(rotation)})

    @extend_schema(request=None, responses=RotationSerializer)
    @action(detail=True, methods=["post"], writers=CERTIFIED)
    def approve(self, request, pk):
        """Approve a draft; only who holds a certificate does."""
        approve_rotation(self.get_object(), by=request.user, at=timezone.now())
        return Response(self.get_serializer(self.get_object()).data)

    @extend_schema(request=DraftSerializer, responses=FindingSerializer(many=True))
    @action(detail=False, methods=["post"], writers=STAFF, pagination_class=None)
    def check(self, request):
        """Return what the rules say of a rotation, without keeping it."""
        draft = DraftSerializer(data=request.data, context=self.get_serializer_context())
        draft.is_valid(raise_exception=True)
        return Response([told_finding(each) for each in draft.findings()])

    @extend_schema(request=AskedSerializer, responses=ProposedSerializer)
    @action(detail=False, methods=["post"], writers=STAFF, pagination_class=None)
    def propose(self, request):
        """Return the three best rotations, proven, or why there is none; nothing is kept."""
        asked = AskedSerializer(data=request.data, context=self.get_serializer_context())
        asked.is_valid(raise_exception=True)
        return Response(told_proposed(asked.proposed(), asked.told_too()))

"""What phones said and a person looks at: reports, the decisions on them, and photos."""

from dataclasses import replace
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import STAFF
from services import pictures
from services.api.reports import CompletedSerializer, ReportSerializer, as_told
from services.completing import VisitReport
from services.field import reviewing
from services.models import FieldEvent, FieldPhoto, Visit
from treatments.api.keeping import ByRoleViewSet


class FieldReportSerializer(serializers.ModelSerializer):
    """What a phone said, and what was decided of it; `told` is its own words."""

    records: Any = serializers.SlugRelatedField(slug_field="number", many=True, read_only=True)
    told = serializers.SerializerMethodField()
    may_be_decided = serializers.SerializerMethodField()

    class Meta:
        model = FieldEvent
        fields = [
            "event_id",
            "device",
            "person",
            "kind",
            "visit",
            "done_at",
            "captured_at",
            "received_at",
            "result",
            "told",
            "records",
            "needs_review",
            "may_be_decided",
            "decision",
            "decision_reason",
            "decided_by",
            "decided_at",
            "photos",
        ]
        read_only_fields = fields

    def get_told(self, event) -> dict:
        """Return what was told, as it was sent."""
        return reviewing.told_by(event)

    def get_may_be_decided(self, event) -> list[str]:
        """Return what may be decided, nothing where it was."""
        return [] if event.decided_at else [str(each) for each in reviewing.decisions_for(event)]


class DecisionSerializer(serializers.Serializer):
    """What is decided of a report, and why."""

    decision = serializers.ChoiceField(choices=FieldEvent.Decision.choices)
    reason = serializers.CharField(min_length=reviewing.SHORTEST_REASON, max_length=1000)


class WhichVisitSerializer(serializers.Serializer):
    """Which visit a draft is of."""

    visit = serializers.PrimaryKeyRelatedField(
        queryset=Visit.objects.select_related("course__property")
    )


class FieldReportViewSet(mixins.RetrieveModelMixin, mixins.ListModelMixin, ByRoleViewSet):
    """Reports of phones; their list is what waits for a decision."""

    readers = STAFF
    writers = STAFF
    lookup_field = "event_id"
    queryset = FieldEvent.objects.select_related("device", "person", "visit__course__property")
    serializer_class = FieldReportSerializer

    def filter_queryset(self, queryset):
        waits = self.action == "list"
        return queryset.to_review().order_by("received_at", "pk") if waits else queryset

    def asked(self, kind, **others) -> dict:
        """Return what was sent, checked."""
        asked = kind(data=self.request.data, context={**self.get_serializer_context(), **others})
        asked.is_valid(raise_exception=True)
        return asked.validated_data

    def shown(self):
        """Answer with a report as it stands now."""
        return Response(self.get_serializer(self.get_object()).data)

    @extend_schema(request=DecisionSerializer, responses=FieldReportSerializer)
    @action(detail=True, methods=["post"])
    def decide(self, request, event_id):
        """Note what is decided of a report; the same twice is noted once."""
        event, told = self.get_object(), self.asked(DecisionSerializer)
        reviewing.decide(event, by=request.user, at=timezone.now(), **told)
        return self.shown()

    @extend_schema(request=WhichVisitSerializer, responses=FieldReportSerializer)
    @action(detail=True, methods=["post"], url_path="visit")
    def which_visit(self, request, event_id):
        """Note which visit a draft is of."""
        reviewing.say_which_visit(self.get_object(), self.asked(WhichVisitSerializer)["visit"])
        return self.shown()

    @extend_schema(request=ReportSerializer, responses={201: CompletedSerializer})
    @action(detail=True, methods=["post"])
    def complete(self, request, event_id):
        """Make a draft whole, and keep it as a report of its visit; twice does it once."""
        event = self.get_object()
        if event.decision == FieldEvent.Decision.COMPLETED:
            return self.completed(event)
        if not reviewing.is_draft(event) or event.visit is None:
            raise serializers.ValidationError(_("Say first which visit it was."))
        told = self.asked(ReportSerializer, visit=event.visit)
        captured = event.captured_at or told.get("captured_at")
        report = VisitReport(**as_told(told), by=request.user, form_id=event.event_id)
        flags = (*report.flags, *reviewing.flags_of_draft(event))
        report = replace(report, captured_at=captured or report.captured_at, flags=flags)
        reviewing.complete_draft(event, report, by=request.user, now=timezone.now())
        return self.completed(self.get_object())

    def completed(self, event):
        """Answer with the visit of a draft that is whole, and the numbers of its records."""
        body = {
            "visit": event.visit_id,
            "state": event.visit.state,
            "completed_at": event.visit.completed_at,
            "first": "",
            "records": [record.number for record in event.records.all()],
        }
        return Response(CompletedSerializer(body).data, status.HTTP_201_CREATED)


class FieldPhotoSerializer(serializers.ModelSerializer):
    """A photo from the field; `shows_sign` says that it shows the sign that stands."""

    class Meta:
        model = FieldPhoto
        fields = ["id", "event", "sha256", "size", "kept_at", "shows_sign", "marked_by"]
        read_only_fields = ["event", "sha256", "size", "kept_at", "marked_by"]


class MarkSerializer(serializers.Serializer):
    """Whether a photo shows the sign that stands."""

    shows_sign = serializers.BooleanField()


class FieldPhotoViewSet(mixins.RetrieveModelMixin, mixins.ListModelMixin, ByRoleViewSet):
    """Photos from the field."""

    readers = STAFF
    writers = STAFF
    queryset = FieldPhoto.objects.all()
    serializer_class = FieldPhotoSerializer

    @extend_schema(request=MarkSerializer, responses=FieldPhotoSerializer)
    @action(detail=True, methods=["post"], url_path="of-sign")
    def of_sign(self, request, pk):
        """Keep whether a photo shows the sign that stands."""
        told = MarkSerializer(data=request.data)
        told.is_valid(raise_exception=True)
        pictures.mark_photo(self.get_object(), **told.validated_data, by=request.user)
        return Response(self.get_serializer(self.get_object()).data)

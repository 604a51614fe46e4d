"""Visits: read, moved, checked on the spot, begun, completed, held."""

from django.core.exceptions import ValidationError as RuleBroken
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.exceptions import APIException, PermissionDenied
from rest_framework.response import Response

from clients.access import CERTIFIED, CREW, STAFF, Role, role_of
from clients.api import VersionStale, etag_of, version_read
from services import completing, holding
from services.api.reports import (
    CompletedSerializer,
    ReportSerializer,
    SkySerializer,
    air_of,
    as_told,
    reports_of,
)
from services.api.said import VerdictSerializer, verdict_of
from services.courses import move_visit
from services.models import Hold, Visit
from services.reach import may_schedule
from services.replying import AnotherRequest, answer_once, event_id_of
from services.showing.verdict import verdict_on
from treatments.api.keeping import ByRoleViewSet


class KeyMissing(APIException):
    """A report without a key by which its repeat would be known."""

    status_code = status.HTTP_400_BAD_REQUEST
    default_detail = _("Send an Idempotency-Key, at most 255 signs, the same when you send again.")
    default_code = "key_missing"


class KeyUsed(APIException):
    """The same key with another report."""

    status_code = status.HTTP_422_UNPROCESSABLE_ENTITY
    default_detail = _("This Idempotency-Key was used for something else.")
    default_code = "key_used"


class HoldSerializer(serializers.ModelSerializer):
    """A hold of a visit."""

    class Meta:
        model = Hold
        fields = ["id", "reason", "note", "set_by", "set_at", "lifted_by", "lifted_at"]
        read_only_fields = ["set_by", "set_at", "lifted_by", "lifted_at"]


class VisitSerializer(serializers.ModelSerializer):
    """A visit: one week of a course."""

    property = serializers.IntegerField(source="course.property_id", read_only=True)
    plantings = serializers.SerializerMethodField()
    week = serializers.IntegerField(read_only=True)
    step = serializers.CharField(source="rotation_week.step", read_only=True)
    product = serializers.IntegerField(source="rotation_week.product_id", read_only=True)
    rate = serializers.DecimalField(
        source="rotation_week.rate", max_digits=10, decimal_places=3, read_only=True
    )
    basis = serializers.CharField(source="rotation_week.basis", read_only=True)
    left_out = serializers.DictField(read_only=True)
    hold = serializers.SerializerMethodField()

    class Meta:
        model = Visit
        fields = [
            "id",
            "course",
            "property",
            "plantings",
            "week",
            "step",
            "product",
            "rate",
            "basis",
            "earliest",
            "planned",
            "latest",
            "state",
            "dispatch",
            "position",
            "arrives_at",
            "leaves_at",
            "left_out",
            "hold",
            "started_at",
            "completed_at",
            "note",
            "records",
            "version",
        ]
        read_only_fields = fields

    def get_plantings(self, visit) -> list[int]:
        """Return the ids of what is treated."""
        return [planting.pk for planting in visit.course.plantings.all()]

    def get_hold(self, visit) -> str:
        """Return why the visit is held, or an empty text."""
        hold = visit.open_hold()
        return hold.reason if hold else ""


class NewDaySerializer(serializers.Serializer):
    """Another of the days of a visit."""

    day = serializers.DateField()


IF_MATCH = OpenApiParameter("If-Match", str, OpenApiParameter.HEADER, required=True)
KEY = OpenApiParameter("Idempotency-Key", str, OpenApiParameter.HEADER, required=True)


class BetweenSerializer(serializers.Serializer):
    """Between which planned days visits are listed."""

    first = serializers.DateField(required=False)
    last = serializers.DateField(required=False)


class VisitViewSet(mixins.RetrieveModelMixin, mixins.ListModelMixin, ByRoleViewSet):
    """Visits; a technician reads and reports those of the own crew."""

    readers = CREW
    writers = CREW
    queryset = Visit.objects.with_all_that_is_shown().prefetch_related("records")
    serializer_class = VisitSerializer

    @extend_schema(parameters=[BetweenSerializer])
    def list(self, request, *args, **kwargs):
        return super().list(request, *args, **kwargs)

    def filter_queryset(self, queryset):
        if self.action != "list":
            return queryset
        asked = BetweenSerializer(data=self.request.query_params)
        asked.is_valid(raise_exception=True)
        names = {"first": "planned__gte", "last": "planned__lte"}
        return queryset.filter(**{names[key]: day for key, day in asked.validated_data.items()})

    def get_queryset(self):
        if self.action == "complete":
            return self.queryset.all().reported_by(self.request.user)
        return super().get_queryset()

    def retrieve(self, request, *args, **kwargs):
        return self.shown()

    def shown(self, visit=None):
        """Answer with a visit as it stands now, under the ETag of its version.

        visit: one that was in reach until now, for a hold takes it off the route of its crew
        """
        visit = self.queryset.get(pk=visit.pk) if visit else self.get_object()
        return Response(self.get_serializer(visit).data, headers={"ETag": etag_of(visit)})

    def read(self, kind, **others):
        """Return what was sent, checked."""
        context = {**self.get_serializer_context(), **others}
        asked = kind(data=self.request.data, context=context)
        asked.is_valid(raise_exception=True)
        return asked.validated_data

    @extend_schema(request=NewDaySerializer, responses=VisitSerializer, parameters=[IF_MATCH])
    @action(detail=True, methods=["post"], writers=STAFF)
    def move(self, request, pk):
        """Plan a visit for another of its days; the later weeks follow."""
        visit = self.get_object()
        if not may_schedule(request.user, visit.course):
            raise PermissionDenied
        version, day = version_read(request), self.read(NewDaySerializer)
        try:
            move_visit(visit, by=request.user, version=version, **day)
        except RuleBroken as refusal:
            if getattr(refusal, "code", "") == "stale":
                raise VersionStale(refusal.messages[0]) from refusal
            raise
        return self.shown()

    @extend_schema(request=SkySerializer, responses=VerdictSerializer)
    @action(detail=True, methods=["post"])
    def check(self, request, pk):
        """Say what stands against spraying now; nothing is kept."""
        visit, now = self.get_object(), timezone.now()
        asked = self.read(SkySerializer, visit=visit)
        found = verdict_on(
            visit,
            conditions=air_of(asked["conditions"], now),
            reports=reports_of(asked.get("reports", [])),
            applicator=asked.get("applicator"),
            supervisor=asked.get("supervisor"),
            at=now,
            signs=asked.get("signs", []),
            solid_cloud=asked["solid_cloud"],
        )
        return Response(verdict_of(found))

    @extend_schema(request=None, responses=VisitSerializer)
    @action(detail=True, methods=["post"])
    def start(self, request, pk):
        """Note that the crew has begun."""
        completing.start_visit(self.get_object(), by=request.user, at=timezone.now())
        return self.shown()

    @extend_schema(request=ReportSerializer, responses={201: CompletedSerializer}, parameters=[KEY])
    @action(detail=True, methods=["post"])
    def complete(self, request, pk):
        """Complete a visit and keep its records; the same key again gets the same reply."""
        visit, key = self.get_object(), key_of(request)

        def complete():
            report = self.read(ReportSerializer, visit=visit)
            return completed(visit, report, request.user, key)

        asked = {"visit": visit.pk, "report": request.data}
        try:
            answer = answer_once(key, sender=request.user, asked=asked, do=complete)
        except AnotherRequest as other:
            raise KeyUsed from other
        return Response(answer.body, answer.status)

    @extend_schema(request=HoldSerializer, responses=VisitSerializer)
    @action(detail=True, methods=["post"])
    def hold(self, request, pk):
        """Put a visit off, with the reason."""
        visit, why = self.get_object(), self.read(HoldSerializer)
        holding.hold_visit(visit, by=request.user, at=timezone.now(), **why)
        return self.shown(visit)

    @extend_schema(request=None, responses=VisitSerializer)
    @action(detail=True, methods=["post"], writers=CERTIFIED)
    def lift(self, request, pk):
        """Lift the hold of a visit; nothing happens where there is none."""
        hold = self.get_object().open_hold()
        if hold is not None:
            holding.lift_hold(hold, by=request.user, at=timezone.now())
        return self.shown()


def key_of(request) -> str:
    """Return the key that the sender gave the request."""
    key = request.headers.get("Idempotency-Key", "").strip()
    if not key or len(key) > 255:
        raise KeyMissing
    return key


def completed(visit: Visit, report: dict, user, key: str) -> tuple[int, dict]:
    """Complete a visit, and return status and body of the reply.

    What is told of a visit that somebody else has reported is kept beside that, for the office.
    """
    told = {**as_told(report), "by": user, "form_id": event_id_of(key, user)}
    if role_of(user) is Role.OFFICE:
        told["from_paper"] = True  # who sits in the office enters what others wrote
    first = ""
    try:
        records = completing.complete_visit(visit, **told)
    except RuleBroken as refusal:
        if getattr(refusal, "code", "") != "completed":
            raise
        records = completing.keep_beside(visit, completing.VisitReport(**told))
        first = refusal.messages[0]
    visit.refresh_from_db(fields=["state", "completed_at"])
    body = {
        "visit": visit.pk,
        "state": visit.state,
        "completed_at": visit.completed_at,
        "first": first,
    }
    told_back = CompletedSerializer(body | {"records": [record.number for record in records]}).data
    return status.HTTP_201_CREATED, dict(told_back)

"""Notices before visits, by the visit: who is to be told, who was tried, the mails."""

from datetime import timedelta
from typing import ClassVar
from uuid import uuid4

from django.utils import timezone
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import OFFICE, STAFF
from services.api.outbox import OutboxSerializer
from services.api.said import Moment
from services.dispatching import today_at_yard
from services.models import ContactAttempt, Visit
from services.showing.notices import NoticesOfVisit, notices_ahead, notices_of
from services.telling import log_contact, people_to_tell, queue_notices
from treatments.api.findings import FindingSerializer, told_finding
from treatments.api.keeping import ByRoleViewSet


class ReaderSerializer(serializers.Serializer):
    """Somebody to be told, and how far that is."""

    person = serializers.CharField(source="reader.person")
    name = serializers.CharField(source="reader.name")
    email = serializers.CharField(source="reader.email")
    told_at = serializers.DateTimeField(allow_null=True)
    waits_until = serializers.DateTimeField(allow_null=True)
    rules = serializers.ListField(child=serializers.CharField())


class NoticesSerializer(serializers.Serializer):
    """Who is to be told of a visit, between which moments, and what is said against it."""

    visit = serializers.IntegerField(source="visit.pk")
    planned = serializers.DateField(source="visit.planned")
    opens = serializers.DateTimeField()
    closes = serializers.DateTimeField()
    readers = ReaderSerializer(many=True)
    findings = serializers.SerializerMethodField()

    @extend_schema(responses=FindingSerializer(many=True))
    def get_findings(self, shown: NoticesOfVisit) -> list[dict]:
        """Return what is said of notices that are still to be given."""
        return [told_finding(each) for each in shown.findings]


class AttemptSerializer(serializers.ModelSerializer):
    """That somebody was tried: `person` as the readers of the visit name it."""

    at = Moment()
    form_id = serializers.UUIDField(default=uuid4)

    class Meta:
        model = ContactAttempt
        fields = [
            "id",
            "day",
            "person",
            "name",
            "at",
            "way",
            "outcome",
            "note",
            "made_by",
            "form_id",
        ]
        read_only_fields = ["day", "name", "made_by"]
        extra_kwargs: ClassVar[dict] = {"form_id": {"validators": []}}


class WhichMondaySerializer(serializers.Serializer):
    """The week, by any of its days."""

    monday = serializers.DateField()


class NoticeViewSet(ByRoleViewSet):
    """Notices of visits; their list is that of the next two weeks."""

    readers = STAFF
    writers = STAFF
    queryset = Visit.objects.with_all_that_is_shown().prefetch_related(
        "course__property__neighbours"
    )
    serializer_class = NoticesSerializer
    pagination_class = None

    def list(self, request):
        """Return of which visits somebody is to be told."""
        rows = notices_ahead(Visit.objects.for_user(request.user), today_at_yard())
        return Response(NoticesSerializer(rows, many=True).data)

    def retrieve(self, request, pk):
        """Return who is to be told of a visit."""
        rows = notices_of([self.get_object()], today_at_yard())
        return Response(NoticesSerializer(rows[0]).data)

    @extend_schema(request=AttemptSerializer, responses={201: AttemptSerializer})
    @action(detail=True, methods=["post"])
    def attempts(self, request, pk):
        """Keep that somebody was tried; the same form_id keeps it once."""
        visit = self.get_object()
        asked = AttemptSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        told = asked.validated_data
        readers = {reader.person: reader for reader in people_to_tell(visit)}
        if (reader := readers.get(told.pop("person"))) is None:
            raise serializers.ValidationError({"person": [_("Nobody of this name is to be told.")]})
        kept = log_contact(visit, reader, by=request.user, **told)
        return Response(AttemptSerializer(kept).data, status.HTTP_201_CREATED)

    @extend_schema(request=None, responses=OutboxSerializer(many=True))
    @action(detail=True, methods=["post"], writers=OFFICE)
    def send(self, request, pk):
        """Let the mails of a visit go out, each as early as the rules allow."""
        rows = queue_notices(self.get_object(), now=timezone.now())
        return Response(OutboxSerializer(rows, many=True).data)

    @extend_schema(request=WhichMondaySerializer, responses=OutboxSerializer(many=True))
    @action(detail=False, methods=["post"], writers=OFFICE, url_path="send-week")
    def send_week(self, request):
        """Let a notice go out to everybody who is still to be told of a visit of a week."""
        asked = WhichMondaySerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        day, now = asked.validated_data["monday"], timezone.now()
        monday = day - timedelta(days=day.weekday())
        open_visits = self.get_queryset().open().planned_in(monday, monday + timedelta(days=6))
        due = [row.visit for row in notices_of(open_visits, today_at_yard(now)) if row.findings]
        rows = [row for visit in due for row in queue_notices(visit, now=now)]
        return Response(OutboxSerializer(rows, many=True).data)

"""The week as facts: which visits may go, and what stands in their way."""

from datetime import timedelta

from drf_spectacular.utils import extend_schema, extend_schema_serializer
from rest_framework import serializers, viewsets
from rest_framework.response import Response

from clients.access import STAFF, Role
from clients.permissions import ByRole
from services.dispatching import WeekRow, today_at_yard, week_of
from treatments.api.rotations import FindingSerializer, told_finding


class WeekRowSerializer(serializers.Serializer):
    """A visit of the week."""

    visit = serializers.IntegerField()
    version = serializers.IntegerField()
    client = serializers.CharField()
    property = serializers.CharField()
    plantings = serializers.ListField(child=serializers.CharField())
    product = serializers.CharField()
    week = serializers.IntegerField()
    weeks = serializers.IntegerField()
    earliest = serializers.DateField()
    planned = serializers.DateField()
    latest = serializers.DateField()
    day = serializers.DateField()
    mark = serializers.CharField()
    is_late = serializers.BooleanField()
    may_be_dispatched = serializers.BooleanField()
    findings = FindingSerializer(many=True)


class WeekGroupSerializer(serializers.Serializer):
    """The visits in the same week of their rotations."""

    week = serializers.IntegerField()
    rows = WeekRowSerializer(many=True)


@extend_schema_serializer(many=False)
class WeekOfVisitsSerializer(serializers.Serializer):
    """A week from Monday on, by the weeks of the rotations."""

    monday = serializers.DateField()
    groups = WeekGroupSerializer(many=True)


class WhichWeekSerializer(serializers.Serializer):
    """Which week is asked for: that of a day, or this one."""

    monday = serializers.DateField(required=False, help_text="Any day of the week does.")
    week = serializers.IntegerField(required=False, min_value=1, max_value=26)


class WeekViewSet(viewsets.ViewSet):
    """The week."""

    permission_classes = [ByRole]
    readers = STAFF
    writers: frozenset[Role] = frozenset()

    @extend_schema(parameters=[WhichWeekSerializer], responses=WeekOfVisitsSerializer)
    def list(self, request):
        """Return the facts of a week, in a fixed number of queries."""
        asked = WhichWeekSerializer(data=request.query_params)
        asked.is_valid(raise_exception=True)
        today = today_at_yard()
        day = asked.validated_data.get("monday", today)
        monday = day - timedelta(days=day.weekday())
        groups = week_of(
            monday, user=request.user, week=asked.validated_data.get("week"), today=today
        )
        facts = [{"week": each.week, "rows": [_row(row) for row in each.rows]} for each in groups]
        return Response({"monday": monday, "groups": facts})


def _row(row: WeekRow) -> dict:
    product = row.visit.rotation_week.product
    return {
        "visit": row.visit.pk,
        "version": row.visit.version,
        "client": row.client.name,
        "property": row.property.name,
        "plantings": [planting.name for planting in row.plantings],
        "product": product.name if product else row.visit.rotation_week.get_step_display(),
        "week": row.week,
        "weeks": row.weeks,
        "earliest": row.earliest,
        "planned": row.planned,
        "latest": row.latest,
        "day": row.day,
        "mark": str(row.mark),
        "is_late": row.is_late,
        "may_be_dispatched": row.may_be_dispatched(),
        "findings": [told_finding(finding) for finding in row.findings],
    }

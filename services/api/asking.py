"""Which other days clients ask for, and the answer that a day stays."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.exceptions import PermissionDenied
from rest_framework.response import Response

from clients.access import STAFF
from services.asking import keep_day
from services.models import DayAsked
from services.reach import may_schedule
from treatments.api.keeping import ByRoleViewSet


class DayAskedSerializer(serializers.ModelSerializer):
    """A day that a client asks for, and what became of it."""

    answer = serializers.ChoiceField(
        choices=DayAsked.Answer.choices, allow_blank=True, read_only=True
    )

    class Meta:
        model = DayAsked
        fields = [
            "id",
            "visit",
            "was_planned",
            "day",
            "words",
            "asked_at",
            "answer",
            "reply",
            "answered_at",
            "answered_by",
        ]
        read_only_fields = fields


class KeepDaySerializer(serializers.Serializer):
    """Why a day stays, as the client is told."""

    reply = serializers.CharField(max_length=400)


class DayAskedViewSet(mixins.RetrieveModelMixin, mixins.ListModelMixin, ByRoleViewSet):
    """Days that clients ask for; one that is granted is moved by its visit."""

    readers = STAFF
    writers = STAFF
    queryset = DayAsked.objects.select_related("visit__course")
    serializer_class = DayAskedSerializer

    @extend_schema(request=KeepDaySerializer, responses=DayAskedSerializer)
    @action(detail=True, methods=["post"])
    def keep(self, request, pk):
        """Answer that the day stays, and why; what was answered before stays as it is."""
        asked = self.get_object()
        if not may_schedule(request.user, asked.visit.course):
            raise PermissionDenied
        told = KeepDaySerializer(data=request.data)
        told.is_valid(raise_exception=True)
        keep_day(asked, by=request.user, at=timezone.now(), **told.validated_data)
        asked.refresh_from_db()
        return Response(self.get_serializer(asked).data)

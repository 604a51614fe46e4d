"""What leaves the book for the outside."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import OFFICE
from services.models import Outbox
from services.telling import send_again
from treatments.api.keeping import ByRoleViewSet


class OutboxSerializer(serializers.ModelSerializer):
    """A thing that is to be sent, was sent, or failed."""

    arguments = serializers.DictField(read_only=True)

    class Meta:
        model = Outbox
        fields = [
            "id",
            "kind",
            "arguments",
            "dedupe_key",
            "written_at",
            "not_before",
            "attempts",
            "last_error",
            "done_at",
            "failed_at",
        ]
        read_only_fields = fields


class OutboxViewSet(mixins.RetrieveModelMixin, mixins.ListModelMixin, ByRoleViewSet):
    """Outgoing things; what failed can be tried again."""

    readers = OFFICE
    writers = OFFICE
    queryset = Outbox.objects.all()
    serializer_class = OutboxSerializer

    @extend_schema(request=None, responses=OutboxSerializer)
    @action(detail=True, methods=["post"])
    def retry(self, request, pk):
        """Give what failed another five attempts; anything else stays as it is."""
        row = self.get_object()
        send_again(row, now=timezone.now())
        row.refresh_from_db()
        return Response(self.get_serializer(row).data)

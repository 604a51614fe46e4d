"""What services do with a client's card and records: a removal, a copy by mail."""

from typing import Any

from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.response import Response

from clients.access import STAFF, Role
from services import telling
from services.api.opened import ClientField
from services.api.outbox import OutboxSerializer
from services.removing import remove_client
from treatments.api.keeping import REMOVES, ByRoleViewSet
from treatments.models import ApplicationRecord


class RemovalSerializer(serializers.Serializer):
    """Which client's card is to name nobody any more."""

    client = ClientField(queryset=None)
    sure = serializers.BooleanField(help_text="True: it cannot be undone.", write_only=True)
    is_new = serializers.BooleanField(read_only=True)

    def validate_sure(self, sure):
        """Refuse who is not sure."""
        if not sure:
            raise serializers.ValidationError(_("Confirm that it cannot be undone."))
        return sure


class RemovalViewSet(ByRoleViewSet):
    """Removals of clients; what was applied stays."""

    scope = REMOVES
    writers = frozenset({Role.OWNER})
    serializer_class: Any = RemovalSerializer

    @extend_schema(responses=RemovalSerializer)
    def create(self, request):
        """Make a client's card name nobody, for good; twice does it once."""
        asked = self.get_serializer(data=request.data)
        asked.is_valid(raise_exception=True)
        client = asked.validated_data["client"]
        is_new = remove_client(client, by=request.user, at=timezone.now())
        return Response({"client": client.pk, "is_new": is_new})


class CopySerializer(serializers.Serializer):
    """The number of a record that stands."""

    record = serializers.IntegerField(min_value=1)


class CopyMailViewSet(ByRoleViewSet):
    """Copies of records that go to their clients by mail."""

    writers = STAFF
    queryset = ApplicationRecord.objects.select_related("planting__property__client")
    serializer_class: Any = CopySerializer

    @extend_schema(request=CopySerializer, responses={202: OutboxSerializer})
    def create(self, request):
        """Let a copy go out; it counts as given once it did, and twice sends it once."""
        asked = self.get_serializer(data=request.data)
        asked.is_valid(raise_exception=True)
        standing = self.get_queryset().current()
        record = get_object_or_404(standing, number=asked.validated_data["record"])
        row = telling.mail_copy(record, now=timezone.now())
        return Response(OutboxSerializer(row).data, status.HTTP_202_ACCEPTED)

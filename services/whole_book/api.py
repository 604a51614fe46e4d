"""The whole book taken along: asked for, followed, fetched, removed."""

from typing import Any

from django.conf import settings
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import get_language
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response
from rest_framework.viewsets import ViewSetMixin

from clients.access import Role
from services import whole_book
from services.models import BookExport
from treatments.api.keeping import ByRoleViewSet

OWNER = frozenset({Role.OWNER})


class ExportSerializer(serializers.ModelSerializer):
    """An export, how far it is, and where its file is fetched with the same key."""

    file = serializers.SerializerMethodField()

    class Meta:
        model = BookExport
        fields = [
            "id",
            "asked_by",
            "asked_at",
            "language",
            "is_waiting",
            "step",
            "steps",
            "done_at",
            "gone_at",
            "failed_at",
            "last_error",
            "records",
            "size",
            "sha256",
            "file",
        ]
        read_only_fields = fields

    def get_file(self, row) -> str:
        """Return the address of the file, or an empty text while there is none."""
        if not row.is_ready():
            return ""
        return settings.ADDRESS + reverse("services:export_file", args=[row.pk])


class ExportViewSet(mixins.RetrieveModelMixin, mixins.ListModelMixin, ByRoleViewSet):
    """Exports of the book."""

    readers = OWNER
    writers = OWNER
    queryset = BookExport.objects.all()
    serializer_class: Any = ExportSerializer

    @extend_schema(request=None, responses={202: ExportSerializer})
    def create(self, request):
        """Ask for the whole book; asked again while one is in the making, it is the same."""
        row = whole_book.ask(by=request.user, language=get_language(), now=timezone.now())
        return Response(self.get_serializer(row).data, status.HTTP_202_ACCEPTED)

    @extend_schema(request=None, responses=ExportSerializer)
    @action(detail=True, methods=["post"])
    def remove(self, request, pk):
        """Remove the file of an export, or stop one in the making; twice does it once."""
        whole_book.remove(self.get_object(), at=timezone.now())
        return Response(self.get_serializer(self.get_object()).data)


ROUTES: list[tuple[str, type[ViewSetMixin]]] = [("exports", ExportViewSet)]

"""Papers kept as files beside products and people: sent, read, handed out, removed."""

from typing import Any

from django.core.exceptions import PermissionDenied
from django.utils.translation import gettext as _
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.parsers import MultiPartParser
from rest_framework.response import Response

from clients.access import CERTIFIED, CREW, OFFICE, STAFF, Role, has_role
from treatments import papers
from treatments.api.keeping import REMOVES, ByRoleViewSet
from treatments.models import KeptPaper
from treatments.views.papers import paper as handed_out

OWNER = frozenset({Role.OWNER})


class PaperSerializer(serializers.ModelSerializer):
    """A paper, of a product or of a person; its file is sent as a part of a form."""

    file = serializers.FileField(write_only=True)

    class Meta:
        model = KeptPaper
        fields = [
            "id",
            "product",
            "applicator",
            "kind",
            "dated",
            "version",
            "file",
            "name",
            "media_type",
            "size",
            "sha256",
            "kept_at",
            "kept_by",
        ]
        read_only_fields = ["name", "media_type", "size", "sha256", "kept_at", "kept_by"]
        validators: list[Any] = []  # the same file of the same kind is kept once

    def validate(self, told):
        """Refuse a paper of nothing or of two things, and a kind that the thing does not have."""
        is_products, is_persons = bool(told.get("product")), bool(told.get("applicator"))
        if is_products == is_persons:
            raise serializers.ValidationError(_("Name a product or an applicator."))
        kinds = KeptPaper.OF_PRODUCT if is_products else KeptPaper.OF_PERSON
        if told["kind"] not in kinds:
            raise serializers.ValidationError({"kind": [_("It has no paper of this kind.")]})
        return told

    def create(self, validated_data):
        file, by = validated_data.pop("file"), self.context["request"].user
        if not has_role(by, CERTIFIED if validated_data.get("product") else OFFICE):
            raise PermissionDenied
        return papers.keep_paper(KeptPaper(**validated_data), file, by=by)


class PaperViewSet(mixins.RetrieveModelMixin, mixins.ListModelMixin, ByRoleViewSet):
    """Papers; a crew reads those of products."""

    readers = CREW
    writers = STAFF
    parser_classes = [MultiPartParser]
    queryset = KeptPaper.objects.all()
    serializer_class = PaperSerializer

    def get_queryset(self):
        found = super().get_queryset()
        return found if has_role(self.request.user, STAFF) else found.filter(applicator=None)

    @extend_schema(responses={201: PaperSerializer})
    def create(self, request):
        """Keep a paper: of a product by who is certified, of a person by the office."""
        asked = self.get_serializer(data=request.data)
        asked.is_valid(raise_exception=True)
        return Response(self.get_serializer(asked.save()).data, status.HTTP_201_CREATED)

    @extend_schema(responses={200: OpenApiTypes.BINARY})
    @action(detail=True, methods=["get"])
    def file(self, request, pk):
        """Hand out the file."""
        return handed_out(request._request, self.get_object().pk)

    @extend_schema(request=None, responses={204: None})
    @action(detail=True, methods=["post"], writers=OWNER, scope=REMOVES)
    def remove(self, request, pk):
        """Take a paper out of the book."""
        papers.remove_paper(self.get_object())
        return Response(status=status.HTTP_204_NO_CONTENT)

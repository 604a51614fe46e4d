"""Signs that stand at properties, and the designs that the owner compared with the code."""

from django.http import Http404
from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, viewsets
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import CREW, Role
from clients.permissions import ByRole
from treatments import posting
from treatments.api.keeping import ByRoleViewSet
from treatments.models import ApplicationRecord
from treatments.rules.records import design_of, posting_for
from treatments.signing import confirm_sign

OWNER = frozenset({Role.OWNER})
PLACE = [OpenApiParameter("jurisdiction", str, OpenApiParameter.PATH)]


class SignSerializer(serializers.Serializer):
    """A sign that stands, by the record it belongs to; `down_at` is null where it is not known."""

    record = serializers.IntegerField(source="record.number")
    property = serializers.IntegerField(source="place.pk")
    posted_at = serializers.DateTimeField()
    down_at = serializers.DateTimeField(allow_null=True)
    is_clients = serializers.BooleanField(help_text="Whether the client takes it down.")


class TakenDownSerializer(serializers.Serializer):
    """Whether it was not known yet that a sign came down."""

    is_new = serializers.BooleanField()


class SignViewSet(ByRoleViewSet):
    """Signs that stand, by the number of their record."""

    readers = CREW
    writers = CREW
    lookup_field = "number"
    queryset = ApplicationRecord.objects.select_related("planting__property")
    serializer_class = SignSerializer
    pagination_class = None

    def list(self, request):
        """Return which signs stand, the first due first."""
        standing = posting.signs_standing(self.get_queryset(), timezone.now())
        return Response(SignSerializer(standing, many=True).data)

    @extend_schema(request=None, responses=TakenDownSerializer)
    @action(detail=True, methods=["post"])
    def down(self, request, number):
        """Keep that the sign of a record was taken down just now; twice does it once."""
        is_new = posting.take_down(self.get_object(), by=request.user, at=timezone.now())
        return Response({"is_new": is_new})


class SignDesignSerializer(serializers.Serializer):
    """A design of a sign, and when it was compared with the code."""

    jurisdiction = serializers.CharField()
    confirmed_at = serializers.DateTimeField()


class SignDesignViewSet(viewsets.ViewSet):
    """Designs of signs, by the code of the place."""

    permission_classes = [ByRole]
    readers = OWNER
    writers = OWNER
    lookup_field = "jurisdiction"

    @extend_schema(parameters=PLACE, request=None, responses=SignDesignSerializer)
    @action(detail=True, methods=["post"])
    def confirm(self, request, jurisdiction):
        """Keep that the owner compared the sign of a place with the code; twice keeps it once."""
        rule = posting_for(jurisdiction)
        design = design_of(rule) if rule else None
        if design is None or not design.can_be_printed():
            raise Http404
        kept = confirm_sign(design=design, by=request.user, at=timezone.now())
        return Response({"jurisdiction": jurisdiction, "confirmed_at": kept.confirmed_at})

"""What is found by words, as far as a person may see."""

from django.utils import timezone
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import serializers, viewsets
from rest_framework.response import Response

from clients.access import EVERYONE, Role
from clients.permissions import ByRole
from services.searching import LONGEST, search

WORDS = OpenApiParameter("words", str, required=True, description="All of them must be there.")


class HitSerializer(serializers.Serializer):
    """A thing that holds the words: its number in the book, and how it is called."""

    id = serializers.IntegerField(source="pk")
    name = serializers.CharField(source="__str__")


class RecordHitSerializer(serializers.Serializer):
    """A record that holds the words."""

    number = serializers.IntegerField()
    product_name = serializers.CharField()
    done_at = serializers.DateTimeField()


class FoundSerializer(serializers.Serializer):
    """The newest of each kind; `more` names the kinds of which there is more."""

    clients = HitSerializer(many=True)
    properties = HitSerializer(many=True)
    plantings = HitSerializer(many=True)
    lots = HitSerializer(many=True)
    records = RecordHitSerializer(many=True)
    more = serializers.SerializerMethodField()

    def get_more(self, found) -> list[str]:
        """Return the kinds of which more was found than is told."""
        return sorted(found.more)


class SearchViewSet(viewsets.ViewSet):
    """Words looked for in the whole book."""

    permission_classes = [ByRole]
    readers = EVERYONE
    writers: frozenset[Role] = frozenset()

    @extend_schema(parameters=[WORDS], responses=FoundSerializer)
    def list(self, request):
        """Return what holds all the words."""
        text = request.query_params.get("words", "")[:LONGEST]
        return Response(FoundSerializer(search(request.user, text, timezone.now())).data)

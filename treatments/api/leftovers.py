"""What was left over and what became of it, and concentrate that goes back to its lot."""

from uuid import uuid4

from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import CREW, STAFF
from treatments.api.keeping import AddedViewSet
from treatments.api.store import SMALLEST, StockEntrySerializer
from treatments.leftovers import note_leftover, return_concentrate
from treatments.models import LeftoverNote, Lot, Product


class LeftoverSerializer(serializers.ModelSerializer):
    """A note of mix or rinse that was left over (gal)."""

    product = serializers.PrimaryKeyRelatedField(
        queryset=Product.objects.filter(kind=Product.Kind.PESTICIDE)
    )

    form_id = serializers.UUIDField(default=uuid4, write_only=True)

    class Meta:
        model = LeftoverNote
        fields = [
            "id",
            "kind",
            "product",
            "gallons",
            "done",
            "note",
            "happened_on",
            "noted_by",
            "form_id",
        ]
        read_only_fields = ["noted_by"]

    def create(self, validated_data):
        return note_leftover(**validated_data, by=self.context["request"].user)


class ConcentrateSerializer(serializers.Serializer):
    """Concentrate from the jar of a hose-end sprayer, in the unit of its product."""

    lot = serializers.PrimaryKeyRelatedField(queryset=Lot.objects.select_related("product"))
    amount = serializers.DecimalField(max_digits=10, decimal_places=3, min_value=SMALLEST)
    is_undiluted = serializers.BooleanField(
        default=False, help_text="From a dial jar whose label allows its return."
    )
    form_id = serializers.UUIDField(default=uuid4)


class LeftoverViewSet(AddedViewSet):
    """Notes of leftovers; a technician reads the own ones. The same form_id keeps one note."""

    readers = CREW
    writers = CREW
    queryset = LeftoverNote.objects.all()
    serializer_class = LeftoverSerializer

    @extend_schema(request=ConcentrateSerializer, responses={201: StockEntrySerializer})
    @action(detail=False, methods=["post"], writers=STAFF)
    def concentrate(self, request):
        """Put undiluted concentrate back into its lot; the same form_id puts it back once."""
        asked = ConcentrateSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        entry = return_concentrate(**asked.validated_data, by=request.user)
        return Response(StockEntrySerializer(entry).data, status.HTTP_201_CREATED)

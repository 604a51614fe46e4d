"""Lots of the store, and the lines of its ledger."""

from decimal import Decimal
from typing import Any
from uuid import uuid4

from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework import serializers, status
from rest_framework.response import Response

from clients.access import OFFICE, STAFF, has_role
from treatments.api.keeping import AddedViewSet
from treatments.models import Locker, Lot, StockEntry
from treatments.storekeeping import count_lot, dispose, move_stock, receive_lot, return_to_store

SMALLEST = Decimal("0.001")


class LotSerializer(serializers.ModelSerializer):
    """A lot: what arrives goes in as an amount, what is left comes out."""

    amount = serializers.DecimalField(
        max_digits=10, decimal_places=3, min_value=SMALLEST, write_only=True
    )
    balance = serializers.DecimalField(max_digits=13, decimal_places=3, read_only=True)
    form_id = serializers.UUIDField(default=uuid4, write_only=True)

    class Meta:
        model = Lot
        fields = [
            "id",
            "product",
            "lot_number",
            "not_marked_reason",
            "received_on",
            "expires_on",
            "opened_on",
            "unit_cost",
            "amount",
            "balance",
            "form_id",
        ]
        read_only_fields = ["opened_on"]
        extra_kwargs = {"lot_number": {"required": False}}
        validators: list[Any] = []  # more of a lot that is known is added to it

    def get_fields(self):
        """Return the fields without what a unit costs, where a person is not shown prices."""
        fields = super().get_fields()
        if not has_role(self.context["request"].user, OFFICE):
            fields.pop("unit_cost")
        return fields

    def create(self, validated_data):
        lot = receive_lot(by=self.context["request"].user, **validated_data)
        return Lot.objects.with_balance().get(pk=lot.pk)


class LotViewSet(AddedViewSet):
    """Lots with what is left of each; the same form_id puts a delivery in once."""

    readers = STAFF
    writers = STAFF
    queryset = Lot.objects.with_balance().first_expiry_first()
    serializer_class = LotSerializer


class StockEntrySerializer(serializers.ModelSerializer):
    """A line of the ledger; negative when it leaves the store."""

    class Meta:
        model = StockEntry
        fields = [
            "id",
            "lot",
            "kind",
            "amount",
            "happened_at",
            "entered_at",
            "entered_by",
            "record",
            "locker",
            "moved_for",
            "note",
        ]
        read_only_fields = fields


class MoveSerializer(serializers.Serializer):
    """What happened to a lot: counted, disposed of, moved or returned.

    What is moved goes from `locker` to `destination`, either of which may be the shelf: null.
    """

    lot = serializers.PrimaryKeyRelatedField(queryset=Lot.objects.select_related("product"))
    kind = serializers.ChoiceField(choices=["counted", "disposed", "moved", "returned"])
    amount = serializers.DecimalField(
        max_digits=10,
        decimal_places=3,
        min_value=0,
        help_text="What was counted, moved, disposed of or returned, in the unit of the product.",
    )
    locker = serializers.PrimaryKeyRelatedField(
        queryset=Locker.objects.all(),
        allow_null=True,
        default=None,
        help_text="The locker of the truck where it lies; null for the shelf of the store.",
    )
    destination = serializers.PrimaryKeyRelatedField(
        queryset=Locker.objects.all(),
        allow_null=True,
        default=None,
        help_text="Of what is moved: the locker to which; null for the shelf of the store.",
    )
    note = serializers.CharField(max_length=200, required=False, allow_blank=True, default="")
    form_id = serializers.UUIDField(default=uuid4)

    def validate(self, attrs):
        if attrs["kind"] == "returned" and attrs["locker"]:
            raise serializers.ValidationError(
                {"locker": _("What comes back is put on the shelf; move it from there.")}
            )
        if attrs["kind"] != "moved" and attrs["destination"]:
            raise serializers.ValidationError(
                {"destination": _("Only what is moved goes to another place.")}
            )
        return attrs

    def create(self, validated_data):
        lot, kind, amount = (validated_data[name] for name in ("lot", "kind", "amount"))
        locker = validated_data["locker"]
        told = {name: validated_data[name] for name in ("note", "form_id")}
        told["by"] = self.context["request"].user
        if kind == "counted":
            return count_lot(lot, counted=amount, locker=locker, **told)
        if kind == "disposed":
            return dispose(lot, amount=amount, locker=locker, **told)
        if kind == "moved":
            to = validated_data["destination"]
            return move_stock(lot, amount=amount, origin=locker, destination=to, **told)
        return return_to_store(lot, amount=amount, **told)


class WhichEntriesSerializer(serializers.Serializer):
    """Which lines are listed: of a kind, of a lot, of a truck's locker."""

    kind = serializers.ChoiceField(choices=StockEntry.Kind.choices, required=False)
    lot = serializers.IntegerField(min_value=1, required=False)
    locker = serializers.IntegerField(min_value=1, required=False)


class StockEntryViewSet(AddedViewSet):
    """The ledger: lines are added and stay."""

    readers = STAFF
    writers = STAFF
    queryset = StockEntry.objects.all()
    serializer_class = StockEntrySerializer

    @extend_schema(parameters=[WhichEntriesSerializer])
    def list(self, request, *args, **kwargs):
        return super().list(request, *args, **kwargs)

    def filter_queryset(self, queryset):
        asked = WhichEntriesSerializer(data=self.request.query_params)
        asked.is_valid(raise_exception=True)
        return queryset.filter(**asked.validated_data)

    @extend_schema(request=MoveSerializer, responses={201: StockEntrySerializer})
    def create(self, request, *args, **kwargs):
        """Enter what happened to a lot; the same form_id enters it once."""
        told = MoveSerializer(data=request.data, context=self.get_serializer_context())
        told.is_valid(raise_exception=True)
        entry = told.save()
        return Response(self.get_serializer(entry).data, status=status.HTTP_201_CREATED)

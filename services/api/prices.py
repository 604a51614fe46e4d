"""Prices, costs and taxes; they are added, and a price may end."""

from drf_spectacular.utils import extend_schema
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import OFFICE, Role
from services.dispatching import today_at_yard
from services.models import CostRate, PriceRule, TaxRate
from services.pricing import end_price
from treatments.api.keeping import AddedViewSet, CleanSerializer

OWNER = frozenset({Role.OWNER})


class EnteredSerializer(CleanSerializer):
    """A row with who entered it."""

    def create(self, validated_data):
        return super().create({**validated_data, "made_by": self.context["request"].user})


class PriceRuleSerializer(EnteredSerializer):
    """A price from a day on; for product the amount is the mark-up in percent."""

    class Meta:
        model = PriceRule
        fields = [
            "id",
            "by",
            "amount",
            "client",
            "property",
            "rotation",
            "from_day",
            "until_day",
            "made_at",
        ]
        # The model's own check says what is wrong; that of the framework knows no expressions.
        validators: list = []


class PriceRuleViewSet(AddedViewSet):
    """Prices; the most particular that holds on a visit's day counts."""

    readers = OFFICE
    writers = OFFICE
    queryset = PriceRule.objects.all()
    serializer_class = PriceRuleSerializer

    @extend_schema(request=None, responses=PriceRuleSerializer)
    @action(detail=True, methods=["post"])
    def end(self, request, pk):
        """Let a price hold until today."""
        rule = self.get_object()
        end_price(rule, today_at_yard())
        return Response(self.get_serializer(self.get_object()).data)


class CostRateSerializer(EnteredSerializer):
    """What an hour of one person's work or a mile costs from a day on (USD)."""

    class Meta:
        model = CostRate
        fields = ["id", "of", "amount", "from_day", "made_at"]


class CostRateViewSet(AddedViewSet):
    """What hours and miles cost."""

    readers = OFFICE
    writers = OFFICE
    queryset = CostRate.objects.all()
    serializer_class = CostRateSerializer


class TaxRateSerializer(EnteredSerializer):
    """A tax as the owner entered it; this book gives no advice on tax."""

    class Meta:
        model = TaxRate
        fields = [
            "id",
            "name",
            "jurisdiction",
            "county",
            "percent",
            "falls_on",
            "from_day",
            "made_at",
        ]


class TaxRateViewSet(AddedViewSet):
    """Taxes; the owner enters them."""

    readers = OFFICE
    writers = OWNER
    queryset = TaxRate.objects.all()
    serializer_class = TaxRateSerializer

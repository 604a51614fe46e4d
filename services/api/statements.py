"""Statements, payments and corrections of charges; what visits cost and earn."""

from collections.abc import Callable
from typing import Any
from uuid import uuid4

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status, viewsets
from rest_framework.decorators import action
from rest_framework.exceptions import ValidationError
from rest_framework.response import Response

from clients.access import OFFICE, Role
from clients.models import Client
from clients.permissions import ByRole
from services.dispatching import today_at_yard
from services.figures import VisitFigures, figures_of, made_between
from services.forms.earnings import EarningsForm, asked_of
from services.models import ChargeCorrection, Payment, Statement, StatementLine
from services.priced import priced_in_words
from services.showing.earnings import reasons_unknown
from services.statements import (
    correct_charge,
    draft_for,
    give_out,
    note_payment,
    take_back_payment,
)
from treatments.api.keeping import AddedViewSet, ByRoleViewSet


class StatementLineSerializer(serializers.ModelSerializer):
    """A charge of a statement."""

    class Meta:
        model = StatementLine
        fields = [
            "place_in_order",
            "visit",
            "correction",
            "rule",
            "day",
            "words",
            "priced",
            "kind",
            "jurisdiction",
            "county",
            "amount",
        ]


class StatementTaxSerializer(serializers.Serializer):
    """A tax upon the lines, by the owner's table."""

    name = serializers.CharField()
    place = serializers.CharField()
    percent = serializers.CharField()
    base = serializers.CharField()
    amount = serializers.CharField()


class StatementSerializer(serializers.ModelSerializer):
    """A statement as it was given out."""

    lines = StatementLineSerializer(many=True, read_only=True)
    taxes = StatementTaxSerializer(many=True, read_only=True)
    sha256 = serializers.CharField(source="paper.sha256", read_only=True)

    class Meta:
        model = Statement
        fields = [
            "id",
            "number",
            "client",
            "first_day",
            "last_day",
            "given_at",
            "lines",
            "lines_total",
            "taxes",
            "tax_total",
            "total",
            "carried",
            "payments",
            "paid",
            "balance",
            "sha256",
        ]
        read_only_fields = fields


class PeriodSerializer(serializers.Serializer):
    """Whose statement, and of which days."""

    client = serializers.PrimaryKeyRelatedField(queryset=Client.objects.none())
    first_day = serializers.DateField()
    last_day = serializers.DateField()

    def get_fields(self):
        fields: Any = super().get_fields()
        request = self.context.get("request")
        if request is not None:
            fields["client"].queryset = Client.objects.for_user(request.user)
        return fields

    def validate(self, attrs):
        """Refuse a period that ends before it begins."""
        if attrs["first_day"] > attrs["last_day"]:
            raise ValidationError({"last_day": "The period ends after it begins."})
        return attrs


class GiveOutSerializer(PeriodSerializer):
    """Which statement is given out, and the id by which a repeat is known."""

    form_id = serializers.UUIDField(default=uuid4)


class StatementDraftLineSerializer(serializers.Serializer):
    """A line to be."""

    visit = serializers.IntegerField(source="visit.pk", default=None)
    correction = serializers.IntegerField(source="correction.pk", default=None)
    day = serializers.DateField()
    words = serializers.CharField()
    priced = serializers.CharField()
    kind = serializers.CharField()
    amount = serializers.DecimalField(max_digits=11, decimal_places=2)


class StatementDraftSerializer(serializers.Serializer):
    """What a statement would say."""

    lines = StatementDraftLineSerializer(many=True)
    lines_total = serializers.DecimalField(max_digits=11, decimal_places=2)
    taxes = StatementTaxSerializer(many=True, source="taxes_told")
    tax_total = serializers.DecimalField(max_digits=11, decimal_places=2)
    total = serializers.DecimalField(max_digits=11, decimal_places=2)
    carried = serializers.DecimalField(max_digits=11, decimal_places=2)
    paid = serializers.DecimalField(max_digits=11, decimal_places=2)
    balance = serializers.DecimalField(max_digits=11, decimal_places=2)
    unpriced = serializers.SerializerMethodField()

    def get_unpriced(self, draft) -> list[int]:
        """Return the visits that have no price yet."""
        return [each.visit.pk for each in draft.unpriced]


class StatementViewSet(mixins.RetrieveModelMixin, mixins.ListModelMixin, ByRoleViewSet):
    """Statements, by their number; one that was given out stays as it is."""

    readers = OFFICE
    writers = OFFICE
    lookup_field = "number"
    queryset = Statement.objects.select_related("paper").prefetch_related("lines", "payments")
    serializer_class = StatementSerializer

    @extend_schema(request=GiveOutSerializer, responses={201: StatementSerializer})
    def create(self, request):
        """Give out a statement; the same form_id gives the same one."""
        asked = GiveOutSerializer(data=request.data, context=self.get_serializer_context())
        asked.is_valid(raise_exception=True)
        given = give_out(**asked.validated_data, by=request.user, at=timezone.now())
        kept = self.get_queryset().get(pk=given.pk)
        return Response(self.get_serializer(kept).data, status.HTTP_201_CREATED)

    @extend_schema(parameters=[PeriodSerializer], responses=StatementDraftSerializer)
    @action(detail=False, methods=["get"], pagination_class=None)
    def draft(self, request):
        """Say what a statement would say; nothing is kept."""
        asked = PeriodSerializer(data=request.query_params, context=self.get_serializer_context())
        asked.is_valid(raise_exception=True)
        return Response(StatementDraftSerializer(draft_for(**asked.validated_data)).data)


class OnceSerializer(serializers.ModelSerializer):
    """A row that the same form_id makes once."""

    form_id = serializers.UUIDField(default=uuid4, write_only=True)
    action: Callable[..., Any]

    def create(self, validated_data):
        return type(self).action(
            **validated_data, by=self.context["request"].user, at=timezone.now()
        )


class PaymentSerializer(OnceSerializer):
    """A payment that was noted by hand."""

    action = staticmethod(note_payment)

    class Meta:
        model = Payment
        fields = ["id", "client", "day", "amount", "way", "note", "takes_back", "form_id"]
        read_only_fields = ["takes_back"]


class PaymentViewSet(AddedViewSet):
    """Payments; one noted wrongly is taken back by a second row."""

    readers = OFFICE
    writers = OFFICE
    queryset = Payment.objects.all()
    serializer_class = PaymentSerializer

    @extend_schema(request=None, responses=PaymentSerializer)
    @action(detail=True, methods=["post"], url_path="take-back")
    def take_back(self, request, pk):
        """Take a payment back; twice does it once."""
        opposite = take_back_payment(self.get_object(), by=request.user, at=timezone.now())
        return Response(self.get_serializer(opposite).data)


class ChargeCorrectionSerializer(OnceSerializer):
    """More or less than a statement said, for the next one."""

    action = staticmethod(correct_charge)

    class Meta:
        model = ChargeCorrection
        fields = [
            "id",
            "client",
            "property",
            "visit",
            "day",
            "amount",
            "kind",
            "words",
            "made_at",
            "form_id",
        ]


class ChargeCorrectionViewSet(AddedViewSet):
    """Corrections of charges."""

    readers = OFFICE
    writers = OFFICE
    queryset = ChargeCorrection.objects.all()
    serializer_class = ChargeCorrectionSerializer


class EarningSerializer(serializers.Serializer):
    """What a visit cost and earned; null where it is not known, and `unknown` says why."""

    visit = serializers.IntegerField(source="visit.pk")
    course = serializers.IntegerField(source="visit.course_id")
    client = serializers.IntegerField(source="visit.course.property.client_id")
    day = serializers.DateField()
    labour_minutes = serializers.FloatField(source="cost.labour_minutes", allow_null=True)
    travel_minutes = serializers.FloatField(source="cost.travel_minutes", allow_null=True)
    travel_miles = serializers.FloatField(source="cost.travel_miles", allow_null=True)
    labour = serializers.DecimalField(11, 2, source="cost.labour", allow_null=True)
    travel = serializers.DecimalField(11, 2, source="cost.travel", allow_null=True)
    product = serializers.DecimalField(11, 2, source="cost.product_known", allow_null=True)
    cost = serializers.DecimalField(11, 2, source="cost.total", allow_null=True)
    charge = serializers.DecimalField(11, 2, source="charge.amount", allow_null=True)
    margin = serializers.DecimalField(11, 2, allow_null=True)
    priced = serializers.SerializerMethodField()
    unknown = serializers.SerializerMethodField()

    def get_priced(self, each: VisitFigures) -> str:
        """Return by which price."""
        return priced_in_words(each)

    def get_unknown(self, each: VisitFigures) -> list[str]:
        """Return why figures are not known."""
        return reasons_unknown([each])


class EarningsAskedSerializer(serializers.Serializer):
    """Of which days; the last ninety where none are named."""

    first = serializers.DateField(required=False)
    last = serializers.DateField(required=False)


class EarningViewSet(viewsets.GenericViewSet):
    """What visits cost and earn."""

    permission_classes = [ByRole]
    readers = OFFICE
    writers: frozenset[Role] = frozenset()
    queryset = StatementLine.objects.none()
    serializer_class = EarningSerializer

    @extend_schema(parameters=[EarningsAskedSerializer], responses=EarningSerializer(many=True))
    def list(self, request):
        """Return the figures of visits, a page at a time."""
        form = EarningsForm(asked_of(request.query_params, today_at_yard()))
        if not form.is_valid():
            raise ValidationError(form.errors.get_json_data())
        first, last = form.cleaned_data["first"], form.cleaned_data["last"]
        visits = made_between(first, last).order_by("completed_at", "pk")
        page = self.paginate_queryset(visits)
        figures = figures_of(visits.filter(pk__in=[each.pk for each in page or []]))
        return self.get_paginated_response(self.get_serializer(figures, many=True).data)

"""Dispatches: days of crews, handed out and taken back."""

from decimal import Decimal

from django.utils import timezone
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import CREW, OFFICE, Role, role_of
from services import dispatching
from services.models import Dispatch, LoadLine, Visit
from services.models.crews import days_of_technician
from treatments.api.keeping import ByRoleViewSet
from treatments.storekeeping import carried


class LoadLineSerializer(serializers.ModelSerializer):
    """What a truck takes of a lot, in the unit of its product."""

    lot_number = serializers.CharField(source="lot.lot_number", read_only=True)
    product = serializers.CharField(source="lot.product.name", read_only=True)
    unit = serializers.CharField(source="lot.product.stock_unit", read_only=True)

    aboard = serializers.SerializerMethodField(
        help_text="What of it the truck carries already, moved there by hand."
    )

    class Meta:
        model = LoadLine
        fields = ["lot", "lot_number", "product", "amount", "unit", "aboard"]
        read_only_fields = fields

    @extend_schema_field(serializers.DecimalField(max_digits=13, decimal_places=3))
    def get_aboard(self, line):
        aboard = self.context["aboard"].get((line.dispatch_id, line.lot_id), Decimal(0))
        return f"{aboard:.3f}"


class DispatchSerializer(serializers.ModelSerializer):
    """The day of a crew: its visits in order, its legs, its load."""

    legs = serializers.ListField(child=serializers.DictField(), read_only=True)
    load = LoadLineSerializer(many=True, read_only=True)

    class Meta:
        model = Dispatch
        fields = [
            "id",
            "crew",
            "day",
            "made_at",
            "made_by",
            "leaves_yard_at",
            "returns_at",
            "legs",
            "water_gallons",
            "signs",
            "note",
            "visits",
            "load",
        ]
        read_only_fields = fields


class HandOutSerializer(serializers.Serializer):
    """Which visits are to go: on one day, or each on its own day of a week."""

    day = serializers.DateField(required=False)
    monday = serializers.DateField(required=False)
    visits = serializers.ListField(
        child=serializers.IntegerField(min_value=1), allow_empty=False, max_length=500
    )

    def validate(self, asked):
        if ("day" in asked) == ("monday" in asked):
            raise serializers.ValidationError(_("Give a day, or the Monday of a week."))
        if "monday" in asked and asked["monday"].weekday() != 0:
            raise serializers.ValidationError({"monday": [_("This is no Monday.")]})
        known = Visit.objects.filter(pk__in=asked["visits"]).values_list("pk", flat=True)
        unknown = sorted(set(asked["visits"]) - set(known))
        if unknown:
            sentence = _("There is no visit %(id)s.") % {"id": unknown[0]}
            raise serializers.ValidationError({"visits": [sentence]})
        return asked


class LeftOutSerializer(serializers.Serializer):
    """A visit that no crew makes, and why."""

    id = serializers.IntegerField()
    property = serializers.CharField()
    week = serializers.IntegerField()
    code = serializers.CharField()
    reason = serializers.CharField()
    remedy = serializers.CharField()


class DaySerializer(serializers.Serializer):
    """A day as it stands after it was handed out; its dispatches as plain facts."""

    day = serializers.DateField()
    dispatches = serializers.ListField(child=serializers.DictField())
    left_out = LeftOutSerializer(many=True)


class RecalledSerializer(serializers.Serializer):
    """The visits that have no crew any more."""

    visits = serializers.ListField(child=serializers.IntegerField())


class DispatchViewSet(mixins.RetrieveModelMixin, mixins.ListModelMixin, ByRoleViewSet):
    """Dispatches; a technician reads those of the own crew."""

    readers = CREW
    writers = OFFICE
    queryset = Dispatch.objects.prefetch_related("visits", "load__lot__product")
    serializer_class = DispatchSerializer

    def get_queryset(self):
        found = super().get_queryset()
        if role_of(self.request.user) is Role.TECHNICIAN:
            user = self.request.user
            days = days_of_technician(user)
            return found.filter(crew__technicians__user=user, day__range=days)
        return found

    def get_serializer_context(self):
        aboard = dispatching.already_aboard(dispatching.today_at_yard(), carried())
        return {**super().get_serializer_context(), "aboard": aboard}

    @extend_schema(request=HandOutSerializer, responses=DaySerializer(many=True))
    @action(detail=False, methods=["post"], url_path="dispatch", pagination_class=None)
    def dispatch_visits(self, request):
        """Give visits to crews with hours and loads, and say why any is left out."""
        asked = HandOutSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        plans = handed_out(asked.validated_data, request.user)
        return Response([dispatching.dispatch_facts(plan) for plan in plans])

    @extend_schema(request=None, responses=RecalledSerializer)
    @action(detail=True, methods=["post"])
    def recall(self, request, pk):
        """Take back the visits that were not begun; return their ids."""
        recalled = dispatching.recall(self.get_object(), by=request.user)
        return Response({"visits": [visit.pk for visit in recalled]})


def handed_out(asked, user):
    """Hand out a day or a week, and return its days."""
    now = timezone.now()
    if "day" in asked:
        visits = Visit.objects.filter(pk__in=asked["visits"])
        return [dispatching.dispatch_day(day=asked["day"], visits=visits, by=user, now=now)]
    return dispatching.dispatch_week(
        monday=asked["monday"], visit_ids=asked["visits"], by=user, now=now
    )

"""Plans in the making: days planned anew when something came between."""

from django.core.exceptions import ValidationError as RuleBroken
from django.utils import timezone
from django.utils.translation import gettext as _
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import OFFICE
from services import plannings, replanning
from services.forms.replan import ReplanForm, What
from services.models import Crew, Planning
from treatments.api.keeping import ByRoleViewSet


class PlanningSerializer(serializers.ModelSerializer):
    """A plan in the making, how far it is, and the offers to choose from."""

    offers = serializers.ListField(child=serializers.DictField(), read_only=True)

    class Meta:
        model = Planning
        fields = [
            "id",
            "kind",
            "first_day",
            "last_day",
            "asked_by",
            "asked_at",
            "step",
            "steps",
            "offers",
            "without_crew",
            "stopped_at",
            "done_at",
            "failed_at",
            "last_error",
            "chosen",
            "chosen_at",
        ]
        read_only_fields = fields


class ReplanSerializer(serializers.Serializer):
    """What came between, on which days, and whether other visits are to get a crew as well."""

    what = serializers.ChoiceField(choices=What.choices)
    crew = serializers.PrimaryKeyRelatedField(
        queryset=Crew.objects.filter(retired=False), required=False, allow_null=True
    )
    first = serializers.DateField()
    last = serializers.DateField(required=False, allow_null=True)
    with_others = serializers.BooleanField(default=False)

    def validate(self, told):
        """Hold what was told against the form of the page, which knows the days."""
        typed = {name: getattr(value, "pk", value) for name, value in told.items()}
        form = ReplanForm(typed)
        if not form.is_valid():
            raise RuleBroken(form.errors.as_data())
        return form.asked()


class ChoiceOfOffer(serializers.Serializer):
    """Which offer becomes the plan."""

    offer = serializers.ChoiceField(choices=Planning.Offer.choices)


class PlanningViewSet(mixins.RetrieveModelMixin, mixins.ListModelMixin, ByRoleViewSet):
    """Plans in the making."""

    readers = OFFICE
    writers = OFFICE
    queryset = Planning.objects.all()
    serializer_class = PlanningSerializer

    @extend_schema(request=ReplanSerializer, responses={202: PlanningSerializer})
    def create(self, request):
        """Have days planned anew; the offers stand in the plan once it is done."""
        asked = ReplanSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        now = timezone.now()
        row = plannings.ask_replan(**asked.validated_data, by=request.user, now=now)
        if plannings.is_small(row):
            plannings.run_planning(row.pk, now=now)
        return self.shown(row.pk, status.HTTP_202_ACCEPTED)

    @extend_schema(request=None, responses=PlanningSerializer)
    @action(detail=True, methods=["post"])
    def stop(self, request, pk):
        """Let a search end with the plan it has."""
        plannings.stop(self.get_object(), at=timezone.now())
        return self.shown(pk)

    @extend_schema(request=ChoiceOfOffer, responses=PlanningSerializer)
    @action(detail=True, methods=["post"])
    def choose(self, request, pk):
        """Let one of the offers become the plan; twice does it once."""
        row = self.get_object()
        if row.kind != Planning.Kind.REPLAN:
            raise serializers.ValidationError(_("There is nothing to choose from."))
        asked = ChoiceOfOffer(data=request.data)
        asked.is_valid(raise_exception=True)
        replanning.choose(row, **asked.validated_data, by=request.user, now=timezone.now())
        return self.shown(pk)

    def shown(self, pk, code=status.HTTP_200_OK):
        """Answer with a plan as it stands now."""
        return Response(self.get_serializer(self.get_queryset().get(pk=pk)).data, code)

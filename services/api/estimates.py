"""Estimates: written, sent, withdrawn, put on; a client answers by the link alone."""

from uuid import uuid4

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import OFFICE
from services import estimating
from services.api.courses import CourseSerializer
from services.api.outbox import OutboxSerializer
from services.api.statements import StatementTaxSerializer
from services.dispatching import today_at_yard
from services.models import Estimate, EstimateAnswer, EstimateWeek
from treatments.api.keeping import ByRoleViewSet, PlantingField
from treatments.models import Rotation


class EstimateWeekSerializer(serializers.ModelSerializer):
    """What is proposed for a week, and its price."""

    class Meta:
        model = EstimateWeek
        fields = ["week", "day", "words", "priced", "kind", "amount"]


class EstimateAnswerSerializer(serializers.ModelSerializer):
    """What the client answered, when, through which link, to which paper."""

    class Meta:
        model = EstimateAnswer
        fields = ["answer", "at", "link", "paper_sha256", "words"]


class EstimateSerializer(serializers.ModelSerializer):
    """An estimate and what became of it."""

    weeks = EstimateWeekSerializer(many=True, read_only=True)
    taxes = StatementTaxSerializer(many=True, read_only=True)
    answer = EstimateAnswerSerializer(read_only=True, allow_null=True, default=None)
    found = serializers.ListField(child=serializers.CharField(), read_only=True)
    stopped_by = serializers.ListField(child=serializers.CharField(), read_only=True)
    state = serializers.SerializerMethodField()

    class Meta:
        model = Estimate
        fields = [
            "id",
            "number",
            "property",
            "plantings",
            "rotation",
            "first_day",
            "valid_until",
            "found",
            "note",
            "weeks",
            "weeks_total",
            "taxes",
            "total",
            "written_at",
            "sha256",
            "state",
            "answer",
            "withdrawn_at",
            "course",
            "stopped_by",
        ]
        read_only_fields = fields

    def get_state(self, estimate) -> str:
        """Return what has become of it."""
        return str(estimate.state_on(today_at_yard()))


class WriteSerializer(serializers.Serializer):
    """What is proposed; `prices` holds an agreed price by the week's number."""

    rotation = serializers.PrimaryKeyRelatedField(queryset=Rotation.objects.all())
    plantings = PlantingField(many=True, queryset=None, allow_empty=False)
    first_day = serializers.DateField()
    valid_until = serializers.DateField()
    prices = serializers.DictField(
        child=serializers.DecimalField(max_digits=9, decimal_places=2, min_value=0),
        required=False,
        default=dict,
    )
    note = serializers.CharField(max_length=1000, required=False, default="")
    form_id = serializers.UUIDField(default=uuid4)

    def validate_prices(self, told):
        """Return the prices by the number of the week."""
        if not all(key.isdecimal() and len(key) < 4 for key in told):
            raise serializers.ValidationError("A price is told by the number of its week.")
        return {int(key): amount for key, amount in told.items()}


class BeginSerializer(serializers.Serializer):
    """From which day."""

    first_day = serializers.DateField()


class EstimateViewSet(mixins.RetrieveModelMixin, mixins.ListModelMixin, ByRoleViewSet):
    """Estimates."""

    readers = OFFICE
    writers = OFFICE
    queryset = Estimate.objects.select_related("answer").prefetch_related("weeks", "plantings")
    serializer_class = EstimateSerializer

    @extend_schema(request=WriteSerializer, responses={201: EstimateSerializer})
    def create(self, request):
        """Write an estimate; the same form_id writes it once."""
        asked = WriteSerializer(data=request.data, context=self.get_serializer_context())
        asked.is_valid(raise_exception=True)
        told = {"by": request.user, "today": today_at_yard(), "at": timezone.now()}
        written = estimating.write_estimate(**asked.validated_data, **told)
        kept = self.get_queryset().get(pk=written.pk)
        return Response(self.get_serializer(kept).data, status.HTTP_201_CREATED)

    @extend_schema(request=None, responses=OutboxSerializer)
    @action(detail=True, methods=["post"])
    def send(self, request, pk):
        """Have an open estimate mailed with its link; twice sends it once."""
        row = estimating.send_estimate(self.get_object(), today=today_at_yard(), at=timezone.now())
        return Response(OutboxSerializer(row).data)

    @extend_schema(request=None, responses=EstimateSerializer)
    @action(detail=True, methods=["post"])
    def withdraw(self, request, pk):
        """Take an estimate back that has no answer."""
        estimating.withdraw(self.get_object(), at=timezone.now())
        return Response(self.get_serializer(self.get_object()).data)

    @extend_schema(request=BeginSerializer, responses=CourseSerializer)
    @action(detail=True, methods=["post"])
    def begin(self, request, pk):
        """Put an accepted estimate on its plantings; twice does it once."""
        asked = BeginSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        told = {"by": request.user, "today": today_at_yard(), "at": timezone.now()}
        course = estimating.begin(self.get_object(), **asked.validated_data, **told)
        return Response(CourseSerializer(course).data)

"""Courses: a rotation put on plantings, and its end."""

from collections.abc import Iterable

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.exceptions import PermissionDenied, ValidationError
from rest_framework.response import Response

from clients.access import STAFF
from services.courses import end_course, put_on, take_step
from services.dispatching import today_at_yard
from services.forms.steps import WITHOUT_SPRAY
from services.forms.what_if import REPEAT, SLIP
from services.models import Course
from services.reach import may_schedule
from services.sheets.charts import Expected
from services.showing.expected import ExpectedShown, expected_of
from treatments.api.keeping import ByRoleViewSet, PlantingField
from treatments.api.rotations import FindingSerializer, told_finding
from treatments.models import Pest, Rotation

WHAT_IF = [
    OpenApiParameter("week", OpenApiTypes.INT, description="The week that is changed."),
    OpenApiParameter("change", str, enum=[SLIP, REPEAT], description="Nothing is changed without."),
    OpenApiParameter("days", OpenApiTypes.INT, description="How much later it comes."),
    OpenApiParameter("later_too", bool, description="Whether the later weeks move along."),
]


class CourseSerializer(serializers.ModelSerializer):
    """A course as it stands, with its visits by their ids."""

    class Meta:
        model = Course
        fields = [
            "id",
            "property",
            "rotation",
            "plantings",
            "visits",
            "first_day",
            "started_by",
            "started_at",
            "ended_at",
            "outcome",
            "outcome_note",
        ]
        read_only_fields = fields


class PutOnSerializer(serializers.Serializer):
    """A rotation, the plantings it is put on, and the first day."""

    rotation = serializers.PrimaryKeyRelatedField(queryset=Rotation.objects.all())
    plantings = PlantingField(many=True, queryset=None)
    first_day = serializers.DateField()


class EndSerializer(serializers.Serializer):
    """How a course came out."""

    outcome = serializers.ChoiceField(choices=[c for c in Course.Outcome.choices if c[0]])
    note = serializers.CharField(max_length=1000, required=False, default="")


class StepSerializer(serializers.Serializer):
    """One step without a spray on a planting, and the day from which it is planned."""

    planting = PlantingField(queryset=None)
    pest = serializers.PrimaryKeyRelatedField(queryset=Pest.objects.all())
    step = serializers.ChoiceField(choices=WITHOUT_SPRAY)
    day = serializers.DateField()


class ExpectedDaySerializer(serializers.Serializer):
    """Moving pests a leaf on the morning of a day, and the band of four in five runs."""

    day = serializers.DateField()
    least = serializers.FloatField()
    middle = serializers.FloatField()
    most = serializers.FloatField()


class ExpectedSerializer(serializers.Serializer):
    """What is expected on one planting; without days the findings say why."""

    planting = serializers.IntegerField()
    expected = ExpectedDaySerializer(many=True)
    otherwise = ExpectedDaySerializer(many=True)
    findings = FindingSerializer(many=True)
    changed = FindingSerializer(many=True)
    efficacy = FindingSerializer(many=True)


class CourseViewSet(mixins.RetrieveModelMixin, mixins.ListModelMixin, ByRoleViewSet):
    """Courses."""

    readers = STAFF
    writers = STAFF
    queryset = Course.objects.prefetch_related("plantings", "visits")
    serializer_class = CourseSerializer

    @extend_schema(request=PutOnSerializer, responses={201: CourseSerializer(many=True)})
    def create(self, request):
        """Put a rotation on plantings, one course a property; twice does it once."""
        asked = PutOnSerializer(data=request.data, context=self.get_serializer_context())
        asked.is_valid(raise_exception=True)
        begun = put_on(**asked.validated_data, by=request.user, today=today_at_yard())
        kept = self.get_queryset().filter(pk__in=[course.pk for course in begun])
        return Response(self.get_serializer(kept, many=True).data, status.HTTP_201_CREATED)

    @extend_schema(request=StepSerializer, responses={201: CourseSerializer})
    @action(detail=False, methods=["post"])
    def step(self, request):
        """Plan one step without a spray as a visit."""
        asked = StepSerializer(data=request.data, context=self.get_serializer_context())
        asked.is_valid(raise_exception=True)
        course = take_step(**asked.validated_data, by=request.user, today=today_at_yard())
        return Response(self.get_serializer(course).data, status.HTTP_201_CREATED)

    @extend_schema(parameters=WHAT_IF, responses=ExpectedSerializer(many=True))
    @action(detail=True, methods=["get"], pagination_class=None)
    def forecast(self, request, pk):
        """Say where the pest is heading on each planting, as planned or changed in one week."""
        expected = expected_of(self.get_object(), today_at_yard(), request.query_params)
        if expected.form.errors:
            raise ValidationError(expected.form.errors.get_json_data())
        return Response([told_expected(each) for each in expected.shown])

    @extend_schema(request=EndSerializer, responses=CourseSerializer)
    @action(detail=True, methods=["post"])
    def end(self, request, pk):
        """End a course; what was to be made is cancelled, what was made stays."""
        course = self.get_object()
        if not may_schedule(request.user, course):
            raise PermissionDenied
        asked = EndSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        end_course(course, by=request.user, at=timezone.now(), **asked.validated_data)
        return Response(self.get_serializer(self.get_object()).data)


def told_expected(shown: ExpectedShown) -> dict:
    """Return what is expected on a planting as the API tells it."""
    return {
        "planting": shown.planting.pk,
        "expected": told_curve(shown.season.expected),
        "otherwise": told_curve(shown.season.otherwise),
        "findings": [told_finding(each) for each in shown.outlook.findings],
        "changed": [told_finding(each) for each in shown.changed],
        "efficacy": [told_finding(each) for each in shown.efficacy],
    }


def told_curve(points: Iterable[Expected]) -> list[dict]:
    """Return a curve as the API tells it."""
    return [
        {"day": each.day, "least": each.least, "middle": each.middle, "most": each.most}
        for each in points
    ]

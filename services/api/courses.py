"""Courses: a rotation put on plantings, and its end."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.exceptions import PermissionDenied
from rest_framework.response import Response

from clients.access import STAFF
from services.courses import end_course, put_on
from services.dispatching import today_at_yard
from services.models import Course
from services.reach import may_schedule
from treatments.api.keeping import ByRoleViewSet, PlantingField
from treatments.models import Rotation


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

"""People who sign in: added, renamed, given another role, let go."""

from django.contrib.auth import get_user_model
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import STAFF, Role
from services import people
from services.models import Crew, Technician
from treatments.api.keeping import PEOPLE, ByRoleViewSet

OWNER = frozenset({Role.OWNER})


class PersonSerializer(serializers.ModelSerializer):
    """A person, whose crew and hours stand among the technicians."""

    email = serializers.CharField(read_only=True)
    role = serializers.SerializerMethodField()

    class Meta:
        model = get_user_model()
        fields = ["id", "username", "first_name", "last_name", "email", "is_active", "role"]
        read_only_fields = ["username", "email", "is_active"]
        extra_kwargs = {
            name: {"required": True, "allow_blank": False} for name in ("first_name", "last_name")
        }

    def get_role(self, person) -> str:
        """Return the role, or an empty text where there is none."""
        names = {group.name for group in person.groups.all()}
        return next((role.value for role in Role if role.value in names), "")


class AddSerializer(serializers.Serializer):
    """A person who may sign in once the owner has set a password on the page."""

    username = serializers.CharField(max_length=150)
    first_name = serializers.CharField(max_length=150)
    last_name = serializers.CharField(max_length=150)
    email = serializers.EmailField(required=False, default="")
    role = serializers.ChoiceField(choices=Role.choices)
    crew = serializers.PrimaryKeyRelatedField(
        queryset=Crew.objects.filter(retired=False), required=False, allow_null=True, default=None
    )
    language = serializers.ChoiceField(choices=Technician.LANGUAGES, default="en")


class RoleSerializer(serializers.Serializer):
    """What somebody is in the business."""

    role = serializers.ChoiceField(choices=Role.choices)


class PersonViewSet(
    mixins.RetrieveModelMixin, mixins.UpdateModelMixin, mixins.ListModelMixin, ByRoleViewSet
):
    """People; the owner adds and changes them."""

    scope = PEOPLE
    readers = STAFF
    writers = OWNER
    queryset = get_user_model().objects.prefetch_related("groups").order_by("pk")
    serializer_class = PersonSerializer

    @extend_schema(request=AddSerializer, responses={201: PersonSerializer})
    def create(self, request):
        """Add a person, without a password."""
        asked = AddSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        told = asked.validated_data
        person = people.add_person(**{**told, "role": Role(told["role"])}, by=request.user)
        return Response(self.get_serializer(person).data, status.HTTP_201_CREATED)

    @extend_schema(request=RoleSerializer, responses=PersonSerializer)
    @action(detail=True, methods=["post"])
    def role(self, request, pk):
        """Give a person another role; the person signs in anew."""
        asked = RoleSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        people.set_role(self.get_object(), Role(asked.validated_data["role"]), by=request.user)
        return Response(self.get_serializer(self.get_object()).data)

    @extend_schema(request=None, responses=PersonSerializer)
    @action(detail=True, methods=["post"], url_path="let-go")
    def let_go(self, request, pk):
        """Close a person's sign-in and phones; twice does it once."""
        people.let_go(self.get_object(), by=request.user)
        return Response(self.get_serializer(self.get_object()).data)

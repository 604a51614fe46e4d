"""What inspectors may look at, and what they looked at: for the owner alone."""

from django.contrib.auth import get_user_model
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import Role
from treatments.api.keeping import PEOPLE, AddedViewSet, ByRoleViewSet
from treatments.inspecting import end_grant, grant
from treatments.models import InspectorGrant, InspectorLook
from treatments.models.inspecting import USUAL_DAYS

OWNER = frozenset({Role.OWNER})
INSPECTORS = get_user_model().objects.filter(groups__name=Role.INSPECTOR, is_active=True)


class GrantSerializer(serializers.ModelSerializer):
    """Who may look at which records, and for how many days from now."""

    inspector = serializers.PrimaryKeyRelatedField(queryset=INSPECTORS)
    jurisdictions = serializers.ListField(
        child=serializers.CharField(max_length=6), required=False, default=list
    )
    days = serializers.IntegerField(
        write_only=True, required=False, default=USUAL_DAYS, min_value=1, max_value=3650
    )

    class Meta:
        model = InspectorGrant
        fields = [
            "id",
            "inspector",
            "purpose",
            "jurisdictions",
            "client",
            "first_day",
            "last_day",
            "days",
            "starts_at",
            "ends_at",
            "granted_by",
            "ended_at",
        ]
        read_only_fields = ["starts_at", "ends_at", "granted_by", "ended_at"]

    def create(self, validated_data):
        by = self.context["request"].user
        return grant(**validated_data, by=by, now=timezone.now())


class GrantViewSet(AddedViewSet):
    """Grants to inspectors; one is taken back, none is changed."""

    scope = PEOPLE
    readers = OWNER
    writers = OWNER
    queryset = InspectorGrant.objects.all()
    serializer_class = GrantSerializer

    @extend_schema(request=None, responses=GrantSerializer)
    @action(detail=True, methods=["post"])
    def end(self, request, pk):
        """Take a grant back; twice is as good as once."""
        end_grant(self.get_object(), at=timezone.now())
        return Response(self.get_serializer(self.get_object()).data)


class InspectorLookSerializer(serializers.ModelSerializer):
    """What an inspector looked at, and when."""

    class Meta:
        model = InspectorLook
        fields = ["id", "inspector", "address", "at"]
        read_only_fields = fields


class LookViewSet(mixins.ListModelMixin, ByRoleViewSet):
    """Looks of inspectors, the newest first."""

    readers = OWNER
    writers: frozenset[Role] = frozenset()
    queryset = InspectorLook.objects.all()
    serializer_class = InspectorLookSerializer

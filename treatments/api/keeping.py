"""What the API's serializers and viewsets of treatments share."""

from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import mixins, serializers, viewsets

from clients.access import CREW
from clients.models import Planting
from clients.permissions import ByRole
from treatments.models.products import STAGES

# Scopes that a key of a program needs beside those of its part of the book.
PEOPLE = "write:people"
REMOVES = "remove"


class CleanSerializer(serializers.ModelSerializer):
    """Checks what was sent by the model's own rules before it is saved."""

    def create(self, validated_data):
        kind: Any = self.Meta.model
        return self._saved(kind(**validated_data))

    def update(self, instance, validated_data):
        for name, value in validated_data.items():
            setattr(instance, name, value)
        return self._saved(instance)

    @staticmethod
    def _saved(thing):
        thing.full_clean()
        thing.save()
        return thing


class CodesField(serializers.ListField):
    """A short list of words."""

    child = serializers.CharField(max_length=100)


class StagesField(serializers.ListField):
    """Life stages: egg, larva, nymph, adult."""

    child = serializers.ChoiceField(choices=STAGES)


@extend_schema_field(OpenApiTypes.INT)
class PlantingField(serializers.PrimaryKeyRelatedField):
    """A planting that the person may see; any other is as if it were not there."""

    def get_queryset(self):
        return Planting.objects.for_user(self.context["request"].user)


class ByRoleViewSet(viewsets.GenericViewSet):
    """Things that the roles in `readers` read and those in `writers` write."""

    permission_classes = [ByRole]
    readers = CREW
    scope = ""  # the scope a key needs to write here, where it is another than that of the package

    def get_queryset(self):
        found = super().get_queryset()
        return found.for_user(self.request.user) if hasattr(found, "for_user") else found


class BookViewSet(
    mixins.CreateModelMixin,
    mixins.RetrieveModelMixin,
    mixins.UpdateModelMixin,
    mixins.ListModelMixin,
    ByRoleViewSet,
):
    """Things that are made, read, listed and changed; none is removed."""


class AddedViewSet(
    mixins.CreateModelMixin,
    mixins.RetrieveModelMixin,
    mixins.ListModelMixin,
    ByRoleViewSet,
):
    """Things that are added, read and listed; what was written stays."""

"""What the API's serializers and viewsets of treatments share."""

from collections.abc import Callable
from typing import Any

from django.utils.functional import cached_property
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import mixins, serializers, viewsets
from rest_framework.fields import SkipField

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


AS_THEY_ARE: dict[type, Callable[[Any], Any]] = {
    serializers.CharField: str,
    serializers.IntegerField: int,
}


class QuickSerializer(serializers.ModelSerializer):
    """Tells the columns of a row without asking each field anew where its value stands.

    What comes out is what REST framework would tell, in long lists in half the time.
    """

    def to_representation(self, instance):
        shown = {}
        for name, column, tell in self._told:
            if column is None:
                try:
                    value = tell.get_attribute(instance)
                except SkipField:
                    continue
                shown[name] = None if value is None else tell.to_representation(value)
            else:
                value = getattr(instance, column)
                shown[name] = value if value is None or tell is None else tell(value)
        return shown

    @cached_property
    def _told(self) -> list[tuple[str, str | None, Any]]:
        """Return the fields that are read: name, column of the row, and what tells its value.

        Without a column it is the field itself, which is asked in REST framework's own way.
        """
        kind: Any = self.Meta.model
        columns = {column.name: column for column in kind._meta.concrete_fields}
        return [self._way_of(field, columns.get(field.source)) for field in self._readable_fields]

    @staticmethod
    def _way_of(field: Any, column: Any) -> tuple[str, str | None, Any]:
        if column is None or (column.is_relation and not _is_key(field)):
            return field.field_name, None, field
        tell = None if column.is_relation else AS_THEY_ARE.get(type(field), field.to_representation)
        return field.field_name, column.attname, tell


def _is_key(field: Any) -> bool:
    """Say whether a field tells a related row by its key, as it stands in the column."""
    return type(field) is serializers.PrimaryKeyRelatedField and field.pk_field is None


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

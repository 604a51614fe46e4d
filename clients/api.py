"""What clients offer to programs."""

from typing import Any

from rest_framework import mixins, serializers, status, viewsets
from rest_framework.exceptions import APIException
from rest_framework.response import Response

from clients.access import CREW, STAFF, shows_gate_code
from clients.forms import ON_EARTH, ClientForm, PlantingForm, PropertyForm
from clients.keeping import Stale, keep
from clients.models import AccessWindow, Client, Neighbour, Planting, Property
from clients.permissions import ByRole


class VersionMissing(APIException):
    """A change without the version that was read (RFC 6585: 428)."""

    status_code = status.HTTP_428_PRECONDITION_REQUIRED
    default_detail = "Send the ETag of what you read as If-Match."
    default_code = "version_missing"


class VersionStale(APIException):
    """A change of something that somebody else changed meanwhile (RFC 9110: 412)."""

    status_code = status.HTTP_412_PRECONDITION_FAILED
    default_code = "stale"


def etag_of(thing) -> str:
    """Return the strong ETag of a thing's version."""
    return f'"v{thing.version}"'


def version_read(request) -> int:
    """Return the version that a program says it read."""
    etag = request.headers.get("If-Match", "")
    if not etag:
        raise VersionMissing
    number = etag.strip().strip('"').removeprefix("v")
    if not number.isascii() or not number.isdigit():
        raise VersionStale("The If-Match header is not an ETag of this book.")
    return int(number)


class KeepingSerializer(serializers.ModelSerializer):
    """Checks what was sent by the model's own rules, and keeps it."""

    def create(self, validated_data):
        kind: Any = self.Meta.model
        return keep(kind(**validated_data))

    def update(self, instance, validated_data):
        for name, value in validated_data.items():
            setattr(instance, name, value)
        try:
            return keep(instance, version=version_read(self.context["request"]))
        except Stale as stale:
            current = type(self)(stale.current, context=self.context).data
            raise VersionStale({"detail": stale.messages[0], "current": current}) from stale


class ClientSerializer(KeepingSerializer):
    """A client's card."""

    class Meta:
        model = Client
        fields = ["id", *ClientForm.Meta.fields, "version"]


class DegreesField(serializers.DecimalField):
    """The field `latitude` or `longitude`: beyond the earth is told before too many digits are."""

    def validate_precision(self, value):
        ON_EARTH[str(self.field_name)](value)
        return super().validate_precision(value)


class LyingSerializer(serializers.ModelSerializer):
    """A place, whose degrees are refused with the words of its form."""

    def build_standard_field(self, field_name, model_field):
        kind, options = super().build_standard_field(field_name, model_field)
        return (DegreesField if field_name in ON_EARTH else kind), options


class PropertySerializer(LyingSerializer, KeepingSerializer):
    """A property; the gate code only for the office, and for the crew on its day."""

    class Meta:
        model = Property
        fields = ["id", "client", *PropertyForm.Meta.fields, "version"]
        extra_kwargs = {name: {"required": True} for name in ("latitude", "longitude")}

    def to_representation(self, instance):
        told = super().to_representation(instance)
        if not shows_gate_code(self.context["request"].user, instance.pk):
            del told["gate_code"]
        return told


class PlantingSerializer(KeepingSerializer):
    """A planting."""

    class Meta:
        model = Planting
        fields = ["id", "property", *PlantingForm.Meta.fields, "version"]


class KeptViewSet(
    mixins.CreateModelMixin,
    mixins.RetrieveModelMixin,
    mixins.UpdateModelMixin,
    mixins.ListModelMixin,
    viewsets.GenericViewSet,
):
    """Things that are made, read, listed and changed under their version; none is removed."""

    permission_classes = [ByRole]
    readers = CREW
    writers = STAFF

    def get_queryset(self):
        found: Any = super().get_queryset()
        return found.for_user(self.request.user)

    def retrieve(self, request, *args, **kwargs):
        thing = self.get_object()
        return Response(self.get_serializer(thing).data, headers={"ETag": etag_of(thing)})


class ClientViewSet(KeptViewSet):
    """Clients."""

    readers = STAFF
    queryset = Client.objects.all()
    serializer_class = ClientSerializer


class PropertyViewSet(KeptViewSet):
    """Properties, with what must be minded there."""

    queryset = Property.objects.all()
    serializer_class = PropertySerializer


class PlantingViewSet(KeptViewSet):
    """Plantings of the properties."""

    queryset = Planting.objects.all()
    serializer_class = PlantingSerializer


class OfProperty(
    mixins.CreateModelMixin,
    mixins.DestroyModelMixin,
    mixins.ListModelMixin,
    mixins.RetrieveModelMixin,
    viewsets.GenericViewSet,
):
    """Things that hang on a property and may be taken away again."""

    permission_classes = [ByRole]
    readers = STAFF
    writers = STAFF

    def get_queryset(self):
        places = Property.objects.for_user(self.request.user)
        return super().get_queryset().filter(property__in=places)


class AccessWindowSerializer(KeepingSerializer):
    """Hours of a weekday in which a crew is let in."""

    class Meta:
        model = AccessWindow
        fields = ["id", "property", "weekday", "opens", "closes"]


class AccessWindowViewSet(OfProperty):
    """Access windows."""

    queryset = AccessWindow.objects.all()
    serializer_class = AccessWindowSerializer


class NeighbourSerializer(KeepingSerializer):
    """Somebody who must or wants to be told."""

    class Meta:
        model = Neighbour
        fields = [
            "id",
            "property",
            "name",
            "address",
            "email",
            "phone",
            "ground",
            "distance_ft",
            "asked_on",
        ]


class NeighbourViewSet(OfProperty):
    """Neighbours."""

    queryset = Neighbour.objects.all()
    serializer_class = NeighbourSerializer


ROUTES = [
    ("clients", ClientViewSet),
    ("properties", PropertyViewSet),
    ("plantings", PlantingViewSet),
    ("access-windows", AccessWindowViewSet),
    ("neighbours", NeighbourViewSet),
]

"""Yards, crews, trucks and the people of the crews."""

from rest_framework import mixins, serializers

from clients.access import CREW, OFFICE, STAFF, Role, role_of
from clients.api import LyingSerializer
from services.models import Crew, Technician, Truck, Yard
from treatments.api.keeping import BookViewSet, ByRoleViewSet, CleanSerializer

OWNER = frozenset({Role.OWNER})


class YardSerializer(LyingSerializer, CleanSerializer):
    """A yard."""

    class Meta:
        model = Yard
        fields = [
            "id",
            "name",
            "address",
            "latitude",
            "longitude",
            "time_zone",
            "supervisor_phone",
        ]


class YardViewSet(BookViewSet):
    """Yards."""

    readers = CREW
    writers = OFFICE
    queryset = Yard.objects.all()
    serializer_class = YardSerializer


class CrewSerializer(CleanSerializer):
    """A crew with its shift; weekdays from "0", Monday, to "6"."""

    weekdays = serializers.ListField(
        child=serializers.ChoiceField(choices=[str(day) for day in range(7)]), required=False
    )

    class Meta:
        model = Crew
        fields = [
            "id",
            "yard",
            "name",
            "shift_starts",
            "shift_ends",
            "lunch_minutes",
            "weekdays",
            "retired",
        ]


class CrewViewSet(BookViewSet):
    """Crews; a technician reads the own one."""

    readers = CREW
    writers = OFFICE
    queryset = Crew.objects.all()
    serializer_class = CrewSerializer

    def get_queryset(self):
        found = super().get_queryset()
        if role_of(self.request.user) is Role.TECHNICIAN:
            return found.filter(technicians__user=self.request.user)
        return found


class TruckSerializer(serializers.ModelSerializer):
    """A truck with its sprayers; `locker` is the place on it that the ledger of the store names."""

    class Meta:
        model = Truck
        fields = ["id", "name", "crew", "sprayers", "water_gallons", "locker"]
        read_only_fields = ["locker"]


class TruckViewSet(BookViewSet):
    """Trucks."""

    readers = STAFF
    writers = OFFICE
    queryset = Truck.objects.prefetch_related("sprayers")
    serializer_class = TruckSerializer


class TechnicianSerializer(CleanSerializer):
    """A person of the business: the crew, the language, the shift; the role is given elsewhere."""

    name = serializers.CharField(source="__str__", read_only=True)

    class Meta:
        model = Technician
        fields = [
            "id",
            "user",
            "name",
            "crew",
            "language",
            "shift_starts",
            "shift_ends",
            "phone",
        ]
        read_only_fields = ["user"]


class TechnicianViewSet(
    mixins.RetrieveModelMixin, mixins.UpdateModelMixin, mixins.ListModelMixin, ByRoleViewSet
):
    """People of the business; who signs in is added on the pages."""

    readers = STAFF
    writers = OWNER
    queryset = Technician.objects.select_related("user")
    serializer_class = TechnicianSerializer

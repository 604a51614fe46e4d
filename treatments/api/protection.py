"""What protects people: equipment handed out, fit tests, and spills."""

from uuid import uuid4

from rest_framework import serializers

from clients.access import CREW, OFFICE, STAFF
from treatments.api.keeping import AddedViewSet, BookViewSet, CleanSerializer
from treatments.forms.protection import FitTestForm, ProtectionForm
from treatments.forms.spills import SpillForm
from treatments.models import FitTest, ProtectionIssued, SpillNote
from treatments.spills import note_spill


class EnteredSerializer(CleanSerializer):
    """A thing that says who entered it."""

    def create(self, validated_data):
        return super().create(validated_data | {"entered_by": self.context["request"].user})


class ProtectionSerializer(EnteredSerializer):
    """Equipment that was handed to somebody."""

    class Meta:
        model = ProtectionIssued
        fields = ["id", "applicator", *ProtectionForm.Meta.fields]


class ProtectionViewSet(BookViewSet):
    """Equipment that was handed out."""

    readers = STAFF
    writers = OFFICE
    queryset = ProtectionIssued.objects.all()
    serializer_class = ProtectionSerializer


class FitTestSerializer(EnteredSerializer):
    """A fit test of a respirator on somebody, and the last day on which it holds."""

    holds_until = serializers.DateField(read_only=True)

    class Meta:
        model = FitTest
        fields = ["id", "applicator", *FitTestForm.Meta.fields, "holds_until"]


class FitTestViewSet(BookViewSet):
    """Fit tests of respirators."""

    readers = STAFF
    writers = OFFICE
    queryset = FitTest.objects.all()
    serializer_class = FitTestSerializer


class SpillSerializer(serializers.ModelSerializer):
    """A note of a spill."""

    form_id = serializers.UUIDField(default=uuid4, write_only=True)

    class Meta:
        model = SpillNote
        fields = ["id", *SpillForm.Meta.fields, "noted_at", "noted_by", "form_id"]
        read_only_fields = ["noted_at", "noted_by"]

    def create(self, validated_data):
        return note_spill(by=self.context["request"].user, **validated_data)


class SpillViewSet(AddedViewSet):
    """Notes of spills; what is learned later is another one. The same form_id keeps one note."""

    readers = STAFF
    writers = CREW
    queryset = SpillNote.objects.all()
    serializer_class = SpillSerializer

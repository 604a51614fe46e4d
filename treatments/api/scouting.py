"""Counts of scouting."""

from typing import Any

from rest_framework import serializers

from clients.access import CREW
from treatments.api.keeping import AddedViewSet, PlantingField
from treatments.models import ScoutingCount
from treatments.scouting import record_count


class ScoutingCountSerializer(serializers.ModelSerializer):
    """A count; the same one sent twice is kept once."""

    planting = PlantingField()
    untreated_reference = PlantingField(required=False, allow_null=True)
    motiles_per_leaf = serializers.FloatField(read_only=True)
    infested_share = serializers.FloatField(read_only=True)

    class Meta:
        model = ScoutingCount
        fields = [
            "id",
            "planting",
            "pest",
            "scouted_at",
            "scouted_by",
            "leaves_looked_at",
            "leaves_infested",
            "eggs",
            "larvae",
            "nymphs",
            "adults",
            "predators",
            "untreated_reference",
            "note",
            "motiles_per_leaf",
            "infested_share",
        ]
        read_only_fields = ["scouted_by"]
        validators: list[Any] = []  # the action knows a count that was told before

    def create(self, validated_data):
        return record_count(scouted_by=self.context["request"].user, **validated_data)


class ScoutingCountViewSet(AddedViewSet):
    """Counts; what was counted stays."""

    writers = CREW
    queryset = ScoutingCount.objects.all()
    serializer_class = ScoutingCountSerializer

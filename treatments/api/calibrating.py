"""Calibrations by worksheet, and tests with water."""

from decimal import Decimal
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from clients.access import CERTIFIED, CREW
from treatments.api.keeping import AddedViewSet, PlantingField
from treatments.calibrating import WORKSHEETS, Worksheet, keep_calibration
from treatments.models import Calibration, WaterTest
from treatments.water_testing import keep_water_test, spray_by_test

SMALLEST = Decimal("0.0001")
LARGEST = 1_000_000


@extend_schema_field(
    {
        "oneOf": [
            {"type": "object", "description": "As sent: each reading, or a list of them, by name."},
            {"type": "array", "items": {"type": "object"}, "description": "As kept, with units."},
        ]
    }
)
class ReadingsField(serializers.DictField):
    """What was read, by name: a decimal, or a list where a worksheet has room for several."""

    def to_representation(self, value):
        return value


def reading_fields(sheet: Worksheet) -> dict[str, serializers.Field]:
    """Return the fields of a worksheet's readings."""
    return {each.name: _field(each.room) for each in sheet.readings}


def _field(room: int) -> serializers.Field:
    one: dict[str, Any] = {
        "max_digits": 10,
        "decimal_places": 4,
        "min_value": SMALLEST,
        "max_value": LARGEST,
    }
    if room == 1:
        return serializers.DecimalField(required=False, **one)
    return serializers.ListField(
        child=serializers.DecimalField(**one), max_length=room, required=False
    )


class CalibrationSerializer(serializers.ModelSerializer):
    """What a sprayer puts out in a person's hands, worked out from the readings."""

    method = serializers.ChoiceField(
        choices=[(sheet.method.value, sheet.method.label) for sheet in WORKSHEETS.values()]
    )
    readings = ReadingsField()

    class Meta:
        model = Calibration
        fields = [
            "id",
            "sprayer",
            "person",
            "nozzle",
            "pressure_psi",
            "method",
            "readings",
            "gallons_per_1000_sq_ft",
            "flow_gallons_per_minute",
            "calibrated_on",
            "expires_on",
        ]
        read_only_fields = ["gallons_per_1000_sq_ft", "flow_gallons_per_minute"]
        extra_kwargs = {"expires_on": {"required": False}}

    def validate(self, attrs):
        """Read the readings as their worksheet asks for them."""
        fields = reading_fields(WORKSHEETS[attrs["method"]])
        unknown = sorted(set(attrs["readings"]) - set(fields))
        if unknown:
            sentence = f"{attrs['method']}: {', '.join(unknown)}?"
            raise serializers.ValidationError({"readings": [sentence]})
        return attrs | {"readings": self._read(fields, attrs["readings"])}

    @staticmethod
    def _read(fields: dict[str, serializers.Field], sent: dict[str, Any]) -> dict[str, Any]:
        read, wrong = {}, {}
        for name, value in sent.items():
            try:
                read[name] = fields[name].run_validation(value)
            except serializers.ValidationError as reason:
                wrong[name] = reason.detail
        if wrong:
            raise serializers.ValidationError({"readings": wrong})
        return read

    def create(self, validated_data):
        return keep_calibration(**validated_data)


class CalibrationViewSet(AddedViewSet):
    """Calibrations; an earlier one stays."""

    writers = CERTIFIED
    queryset = Calibration.objects.all()
    serializer_class = CalibrationSerializer


class WaterTestSerializer(serializers.ModelSerializer):
    """A test with water, and what the whole planting would take by it."""

    planting = PlantingField()
    planting_gallons = serializers.SerializerMethodField()

    class Meta:
        model = WaterTest
        fields = [
            "id",
            "planting",
            "sprayer",
            "tested_on",
            "tested_by",
            "strip_ft",
            "plants_tested",
            "water_amount",
            "water_unit",
            "note",
            "planting_gallons",
        ]
        read_only_fields = ["tested_by"]
        extra_kwargs = {"water_unit": {"required": True}}

    @extend_schema_field(serializers.DecimalField(max_digits=12, decimal_places=3))
    def get_planting_gallons(self, test):
        return f"{spray_by_test(test, test.planting):.3f}"

    def create(self, validated_data):
        return keep_water_test(tested_by=self.context["request"].user, **validated_data)


class WaterTestViewSet(AddedViewSet):
    """Tests with water; what was measured stays, and the newest one counts."""

    writers = CREW
    queryset = WaterTest.objects.select_related("planting")
    serializer_class = WaterTestSerializer

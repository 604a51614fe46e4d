"""Calibrations by worksheet, and tests with water."""

from decimal import Decimal
from typing import Any

from drf_spectacular.utils import extend_schema, extend_schema_field
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import CERTIFIED, CREW
from treatments.api.findings import FindingSerializer, told_finding
from treatments.api.keeping import AddedViewSet, PlantingField
from treatments.calibrating import (
    THOUSANDTH,
    WORKSHEETS,
    Worksheet,
    keep_calibration,
    work_out,
)
from treatments.models import Calibration, WaterTest
from treatments.water_testing import keep_water_test, spray_by_test

SMALLEST = Decimal("0.0001")
LARGEST = 1_000_000


@extend_schema_field({"type": "object", "additionalProperties": True})
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


class ReadSerializer(serializers.Serializer):
    """A worksheet and what was read for it."""

    method = serializers.ChoiceField(
        choices=[(sheet.method.value, sheet.method.label) for sheet in WORKSHEETS.values()]
    )
    readings = ReadingsField()

    def validate(self, attrs):
        """Read the readings as their worksheet asks for them."""
        fields = reading_fields(WORKSHEETS[attrs["method"]])
        unknown = sorted(set(attrs["readings"]) - set(fields))
        if unknown:
            sentence = f"{attrs['method']}: {', '.join(unknown)}?"
            raise serializers.ValidationError({"readings": [sentence]})
        return attrs | {"readings": _read(fields, attrs["readings"])}


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


def _told(amount: Decimal | None) -> str | None:
    return None if amount is None else str(amount.quantize(THOUSANDTH))


class OutputSerializer(serializers.Serializer):
    """What the readings come to, and what is said of it."""

    gallons_per_acre = serializers.DecimalField(max_digits=12, decimal_places=3, allow_null=True)
    gallons_per_1000_sq_ft = serializers.DecimalField(max_digits=12, decimal_places=3)
    flow_gallons_per_minute = serializers.DecimalField(
        max_digits=12, decimal_places=3, allow_null=True
    )
    findings = FindingSerializer(many=True)


class CalibrationSerializer(ReadSerializer, serializers.ModelSerializer):
    """What a sprayer puts out in a person's hands, worked out from the readings."""

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

    def create(self, validated_data):
        return keep_calibration(**validated_data)


class CalibrationViewSet(AddedViewSet):
    """Calibrations; an earlier one stays."""

    writers = CERTIFIED
    queryset = Calibration.objects.all()
    serializer_class = CalibrationSerializer

    @extend_schema(request=ReadSerializer, responses=OutputSerializer)
    @action(detail=False, methods=["post"], writers=CREW, url_path="work-out")
    def work_out(self, request):
        """Say what readings come to; nothing is kept."""
        asked = ReadSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        output = work_out(**asked.validated_data)
        return Response(
            {
                "gallons_per_acre": _told(output.gallons_per_acre),
                "gallons_per_1000_sq_ft": _told(output.gallons_per_1000_sq_ft),
                "flow_gallons_per_minute": _told(output.flow_gallons_per_minute),
                "findings": [told_finding(each) for each in output.findings],
            }
        )


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

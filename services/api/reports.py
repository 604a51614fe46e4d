"""What a program reports of a visit: what was applied, when, by whom, in what air."""

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from services.api.said import Moment
from services.asked_of_crews import TYPED_FOR, longest
from services.completing import ApplicationReport
from treatments.models import Applicator, Lot, Product, Sprayer
from treatments.rules.facts import Conditions
from treatments.rules.psychrometrics import InversionSign
from treatments.rules.units import Basis


def measured(**limits):
    """Return a field for what was measured of the air; missing means not measured."""
    return serializers.DecimalField(
        max_digits=5, decimal_places=1, required=False, allow_null=True, **limits
    )


def said_there(field):
    """Return a field of the record that only the rules of some places ask for."""
    name, label = TYPED_FOR[field]
    return serializers.CharField(
        label=label,
        max_length=longest(name),
        required=False,
        help_text="Asked for in some places only.",
    )


class ConditionsSerializer(serializers.Serializer):
    """The air as it was measured on the spot."""

    wind_mph = measured(min_value=0)
    wind_direction = serializers.CharField(max_length=12, required=False, allow_blank=True)
    temperature_f = measured()
    humidity_percent = measured(min_value=0, max_value=100)
    hours_to_rain = measured(min_value=0)


@extend_schema_field(OpenApiTypes.INT)
class PlantingThere(serializers.PrimaryKeyRelatedField):
    """A planting of the property that is visited, whatever the day on which it is reported."""

    def get_queryset(self):
        return self.context["visit"].course.property.plantings.all()


class ApplicationSerializer(serializers.Serializer):
    """What was applied on one planting; amounts in the unit of the product and in gallons."""

    planting = PlantingThere(queryset=None)
    lot = serializers.PrimaryKeyRelatedField(
        queryset=Lot.objects.select_related("product"), allow_null=True
    )
    product_amount = serializers.DecimalField(max_digits=10, decimal_places=3, min_value=0)
    mix_gallons = serializers.DecimalField(max_digits=10, decimal_places=3, min_value=0)
    product = serializers.PrimaryKeyRelatedField(queryset=Product.objects.all(), required=False)
    rate = serializers.DecimalField(max_digits=10, decimal_places=3, required=False)
    rate_basis = serializers.ChoiceField(choices=[b.value for b in Basis], required=False)
    sprayer = serializers.PrimaryKeyRelatedField(queryset=Sprayer.objects.all(), required=False)
    treated_area_sq_ft = serializers.DecimalField(max_digits=10, decimal_places=1, required=False)
    plants = serializers.IntegerField(min_value=1, required=False)
    protective_equipment = serializers.CharField(max_length=1000, required=False)
    weather = said_there("weather_conditions")
    method = said_there("method_or_equipment")
    supplier_name = said_there("supplier_name")
    permit_number = said_there("permit_no")
    insurance = said_there("insurance")
    disposal = said_there("disposal_notes")
    worker_protection_exchange = said_there("worker_protection_exchange")
    incident = serializers.CharField(max_length=4000, required=False)
    note = serializers.CharField(max_length=4000, required=False)

    def validate(self, attrs):
        """Put what only some places ask for together, as the actions are told it."""
        also = {name: attrs.pop(name) for name, _label in TYPED_FOR.values() if name in attrs}
        return attrs | {"also": also}


class CheckSerializer(serializers.Serializer):
    """What a crew is about to apply, and the air; the people and amounts may be left out."""

    conditions = ConditionsSerializer()
    applicator = serializers.PrimaryKeyRelatedField(
        queryset=Applicator.objects.select_related("supervisor"), required=False
    )
    supervisor = serializers.PrimaryKeyRelatedField(
        queryset=Applicator.objects.all(), required=False
    )
    reports = ApplicationSerializer(many=True, required=False)


class SkySerializer(CheckSerializer):
    """The same, with what is seen of the sky; it advises, and is not kept."""

    signs = serializers.ListField(
        child=serializers.ChoiceField([sign.name for sign in InversionSign]), required=False
    )
    solid_cloud = serializers.BooleanField(default=False)

    def validate_signs(self, names):
        return [InversionSign[name] for name in names]


class ReportSerializer(CheckSerializer):
    """What was done at a visit."""

    conditions = ConditionsSerializer(required=False)
    started_at = Moment()
    done_at = Moment()
    captured_at = Moment(required=False)
    posted_at = Moment(required=False)
    from_paper = serializers.BooleanField(default=False)
    note = serializers.CharField(max_length=4000, required=False, default="")


class CompletedSerializer(serializers.Serializer):
    """A visit that was completed, with the numbers of its records."""

    visit = serializers.IntegerField()
    state = serializers.CharField()
    completed_at = serializers.DateTimeField()
    records = serializers.ListField(child=serializers.IntegerField())
    first = serializers.CharField(
        help_text="Empty; or who reported the visit before: a person decides which report holds."
    )


def air_of(told: dict, at) -> Conditions:
    """Return the air as the rules are given it."""
    return Conditions(at=at, **told)


def reports_of(told: list[dict]) -> tuple[ApplicationReport, ...]:
    """Return what was applied as the actions are told it."""
    return tuple(ApplicationReport(**each) for each in told)


def as_told(report: dict) -> dict:
    """Return a report as `complete_visit` is told of it."""
    air = report.pop("conditions", None)
    return {
        **report,
        "conditions": air_of(air, report["started_at"]) if air else None,
        "reports": reports_of(report.pop("reports", [])),
        "captured_at": report.get("captured_at") or timezone.now(),
    }

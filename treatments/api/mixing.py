"""A mix, and the setting of a hose, worked out for programs; nothing is kept."""

from decimal import Decimal
from typing import Any

from django.utils import timezone
from django.utils.translation import gettext
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import CREW
from clients.models import PlantGroup
from treatments.api.findings import FindingSerializer, told_finding
from treatments.api.keeping import ByRoleViewSet, PlantingField
from treatments.mixing import Asked, AskedOfHose, Batch, Metered, Mixed, PortionRow, Target
from treatments.mixing import meter as work_out_hose
from treatments.mixing import mix as work_out_mix
from treatments.models import Applicator, Pest, Product, Sprayer
from treatments.rules.units import Basis, Measure

SMALLEST = Decimal("0.001")
SIXTH = Decimal("0.000001")
STRENGTHS = [basis.value for basis in Basis if basis.is_concentration]
TARGET = ("planting", "plant_group", "area_sq_ft", "plants", "gallons_per_plant")


def measure(**options) -> serializers.DecimalField:
    """Return a field for an amount that need not be given."""
    return serializers.DecimalField(
        max_digits=10, decimal_places=3, min_value=SMALLEST, required=False, **options
    )


class PlaceSerializer(serializers.Serializer):
    """What is sprayed: a planting, or a site with its area or plants."""

    planting = PlantingField(required=False)
    plant_group = serializers.ChoiceField(choices=PlantGroup.choices, required=False)
    area_sq_ft = measure(help_text="In place of the planting's own.")
    product = serializers.PrimaryKeyRelatedField(queryset=Product.objects.all())
    pest = serializers.PrimaryKeyRelatedField(queryset=Pest.objects.all(), required=False)
    rate = serializers.DecimalField(max_digits=10, decimal_places=3, min_value=SMALLEST)
    basis = serializers.ChoiceField(choices=[basis.value for basis in Basis])
    person = serializers.PrimaryKeyRelatedField(queryset=Applicator.objects.all(), required=False)

    def validate(self, attrs):
        planting = attrs.get("planting")
        if planting is None and not attrs.get("plant_group"):
            sentence = gettext("Choose a planting, or the site as labels name it.")
            raise serializers.ValidationError({"plant_group": [sentence]})
        return attrs | ({"plant_group": planting.plant_group} if planting else {})

    def told(self) -> dict[str, Any]:
        """Return what was sent, with the target by itself and the day it is asked."""
        told = dict(self.validated_data)
        target = {name: told.pop(name) for name in TARGET if name in told}
        return {**told, "target": Target(**target), "day": timezone.localdate()}


class MixRequestSerializer(PlaceSerializer):
    """A mix in a tank."""

    sprayer = serializers.PrimaryKeyRelatedField(queryset=Sprayer.objects.all())
    plants = serializers.IntegerField(min_value=1, max_value=100_000, required=False)
    gallons_per_plant = measure()
    spray_gallons = measure(help_text="Where it is known otherwise.")
    allowance_percent = serializers.DecimalField(
        max_digits=4, decimal_places=1, min_value=0, max_value=5, required=False
    )
    smallest_batch_gallons = measure()
    adjuvant = serializers.PrimaryKeyRelatedField(
        queryset=Product.objects.filter(kind=Product.Kind.ADJUVANT), required=False
    )
    adjuvant_rate = measure()
    adjuvant_basis = serializers.ChoiceField(choices=STRENGTHS, required=False)
    container_gallons = measure(help_text="Of each container that is rinsed into the tank.")
    containers = serializers.IntegerField(min_value=0, max_value=20, required=False)

    def asked(self) -> Asked:
        """Return the mix that is asked for."""
        return Asked(**self.told())


class HoseRequestSerializer(PlaceSerializer):
    """A setting of a hose-end sprayer or an injector."""

    sprayer = serializers.PrimaryKeyRelatedField(queryset=Sprayer.objects.all(), required=False)
    output_gal_per_1000_sq_ft = measure()
    settings = serializers.ListField(
        child=serializers.DecimalField(
            max_digits=6, decimal_places=3, min_value=SMALLEST, max_value=128
        ),
        max_length=40,
        required=False,
    )
    flow_gal_per_min = measure()
    minutes = measure()

    def asked(self) -> AskedOfHose:
        """Return the setting that is asked for."""
        told = self.told()
        return AskedOfHose(**told | {"settings": tuple(told.get("settings", ()))})


class AmountSerializer(serializers.Serializer):
    """An amount with its unit."""

    amount = serializers.CharField(help_text="A decimal, to six places.")
    unit = serializers.CharField()


class PortionSerializer(serializers.Serializer):
    """One thing in a tank: exact, as measured, and the most its label allows there."""

    name = serializers.CharField()
    exact = AmountSerializer()
    measured = AmountSerializer()
    tool = serializers.CharField()
    step = AmountSerializer()
    fillings = serializers.IntegerField()
    error_percent = serializers.CharField()
    label_most = AmountSerializer(allow_null=True)


class BatchSerializer(serializers.Serializer):
    """Tanks that are filled alike."""

    first = serializers.IntegerField()
    last = serializers.IntegerField()
    gallons = serializers.CharField()
    water_gallons = serializers.CharField()
    portions = PortionSerializer(many=True)
    steps = serializers.ListField(child=serializers.CharField())


class MixSerializer(serializers.Serializer):
    """What comes of a mix; where it may not be mixed there are no tanks, and it says why."""

    may_mix = serializers.BooleanField()
    problem = serializers.CharField()
    spray_gallons = serializers.CharField(allow_null=True)
    spray_source = serializers.CharField()
    total_exact = AmountSerializer(allow_null=True)
    total_measured = AmountSerializer(allow_null=True)
    tanks = BatchSerializer(many=True)
    rinsing = serializers.ListField(child=serializers.CharField())
    findings = FindingSerializer(many=True)


class MeteredSerializer(serializers.Serializer):
    """What a dial or an injector is set to, fluid ounces in a gallon."""

    may_spray = serializers.BooleanField()
    problem = serializers.CharField()
    dial_needed = serializers.CharField(allow_null=True)
    dial_to_set = serializers.CharField(allow_null=True)
    water_gallons = serializers.CharField(allow_null=True)
    minutes = serializers.CharField(allow_null=True)
    concentrate_fl_oz = serializers.CharField(allow_null=True)
    injector_ratio = serializers.CharField(allow_null=True)
    injector_fl_oz_per_min = serializers.CharField(allow_null=True)
    findings = FindingSerializer(many=True)
    cautions = FindingSerializer(many=True)


class MixViewSet(ByRoleViewSet):
    """Mixes: worked out, never kept."""

    readers = CREW
    writers = CREW
    queryset = Product.objects.none()
    serializer_class = MixSerializer

    @extend_schema(request=MixRequestSerializer, responses=MixSerializer)
    def create(self, request):
        """Work out a mix tank by tank; the label is never passed."""
        sent = MixRequestSerializer(data=request.data, context=self.get_serializer_context())
        sent.is_valid(raise_exception=True)
        return Response(told_mix(work_out_mix(sent.asked())))

    @extend_schema(request=HoseRequestSerializer, responses=MeteredSerializer)
    @action(detail=False, methods=["post"], url_path="hose-end")
    def hose_end(self, request):
        """Work out the dial of a hose-end sprayer, downwards so that the label holds."""
        sent = HoseRequestSerializer(data=request.data, context=self.get_serializer_context())
        sent.is_valid(raise_exception=True)
        return Response(told_metered(work_out_hose(sent.asked())))


def told_mix(mixed: Mixed) -> dict[str, Any]:
    """Return a mix as programs are told it; one that is refused tells no amount."""
    plan = None if mixed.is_refused else mixed.plan
    return {
        "may_mix": plan is not None,
        "problem": mixed.problem,
        "spray_gallons": plan and _plain(plan.spray_gallons),
        "spray_source": mixed.volume.source if plan and mixed.volume else "",
        "total_exact": plan and _amount(plan.total),
        "total_measured": plan and _amount(plan.total_measured),
        "tanks": [_told_batch(batch) for batch in mixed.batches] if plan else [],
        "rinsing": [step.say(gettext) for step in mixed.rinsing] if plan else [],
        "findings": [told_finding(each) for each in mixed.said],
    }


def told_metered(metered: Metered) -> dict[str, Any]:
    """Return a setting as programs are told it; one that is refused tells no amount."""
    is_told = not metered.is_refused
    amounts = {
        "dial_needed": metered.needed.amount if metered.needed else None,
        "dial_to_set": metered.setting,
        "water_gallons": metered.water_gallons,
        "minutes": metered.minutes,
        "concentrate_fl_oz": metered.concentrate_fl_oz,
        "injector_ratio": metered.ratio,
        "injector_fl_oz_per_min": metered.injector_fl_oz_per_min,
    }
    return {
        "may_spray": is_told,
        "problem": metered.problem,
        **{
            name: None if value is None or not is_told else _plain(value)
            for name, value in amounts.items()
        },
        "findings": [told_finding(each) for each in metered.findings],
        "cautions": [told_finding(each) for each in metered.cautions],
    }


def _told_batch(batch: Batch) -> dict[str, Any]:
    return {
        "first": batch.first,
        "last": batch.last,
        "gallons": _plain(batch.tank.gallons),
        "water_gallons": _plain(batch.tank.water_gallons),
        "portions": [_told_portion(row) for row in batch.rows],
        "steps": [step.say(gettext) for step in batch.steps],
    }


def _told_portion(row: PortionRow) -> dict[str, Any]:
    portion = row.portion
    return {
        "name": portion.name,
        "exact": _amount(portion.exact),
        "measured": _amount(portion.measured),
        "tool": gettext(portion.tool.name),
        "step": _amount(Measure(portion.tool.step, portion.tool.unit)),
        "fillings": portion.fillings,
        "error_percent": _plain(portion.relative_error * 100),
        "label_most": row.most and _amount(row.most),
    }


def _amount(measured: Measure) -> dict[str, str]:
    return {"amount": _plain(measured.amount), "unit": measured.unit.value}


def _plain(amount: Decimal) -> str:
    return f"{amount.quantize(SIXTH).normalize():f}"

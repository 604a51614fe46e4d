"""Active ingredients, pests, and products as their labels read."""

from django.db import transaction
from rest_framework import serializers
from rest_framework.response import Response

from clients.access import CERTIFIED, OFFICE, has_role
from clients.api import KeepingSerializer, etag_of
from treatments.api.keeping import BookViewSet, CleanSerializer, CodesField, StagesField
from treatments.forms.products import CONTENT_COLUMNS, ProductForm
from treatments.models import ActiveIngredient, LabelRate, Pest, Product, ProductIngredient
from treatments.models.products import EQUIPMENT


class ActiveIngredientSerializer(CleanSerializer):
    """An active ingredient with its mode of action."""

    stages_controlled = StagesField(required=False)

    class Meta:
        model = ActiveIngredient
        fields = [
            "id",
            "name",
            "irac_group",
            "frac_group",
            "separation_class",
            "bee_hazard",
            "moves_into_pollen",
            "residual_days",
            "stages_controlled",
        ]


class ActiveIngredientViewSet(BookViewSet):
    """Active ingredients."""

    writers = CERTIFIED
    queryset = ActiveIngredient.objects.all()
    serializer_class = ActiveIngredientSerializer


class PestSerializer(CleanSerializer):
    """A pest with its threshold and where that is from."""

    stages = StagesField(required=False)

    class Meta:
        model = Pest
        fields = [
            "id",
            "common_name",
            "spanish_name",
            "scientific_name",
            "eppo_code",
            "is_mite",
            "stages",
            "threshold",
            "threshold_source",
        ]


class PestViewSet(BookViewSet):
    """Pests."""

    writers = CERTIFIED
    queryset = Pest.objects.all()
    serializer_class = PestSerializer


class ContentSerializer(serializers.ModelSerializer):
    """How much of an ingredient a product holds."""

    class Meta:
        model = ProductIngredient
        fields = CONTENT_COLUMNS


class LabelRateSerializer(serializers.ModelSerializer):
    """A rate of the label for a site and, where it names one, a pest."""

    class Meta:
        model = LabelRate
        fields = ["plant_group", "pest", "minimum", "maximum", "basis", "gallons_per_1000_sq_ft"]


class ProductSerializer(KeepingSerializer):
    """A product as its label reads; contents and rates are replaced as a whole."""

    contents = ContentSerializer(many=True)
    rates = LabelRateSerializer(many=True)
    protective_equipment = serializers.ListField(
        child=serializers.ChoiceField(choices=EQUIPMENT), required=False
    )
    respirator_filter_classes = serializers.ListField(
        child=serializers.ChoiceField(choices=["N", "R", "P", "HE"]), required=False
    )
    plants_excluded = CodesField(required=False)

    class Meta:
        model = Product
        fields = [
            "id",
            *ProductForm.Meta.fields,
            "contents",
            "rates",
            "version",
        ]

    def get_fields(self):
        """Return the fields without the price, where a person is not shown prices."""
        fields = super().get_fields()
        if not has_role(self.context["request"].user, OFFICE):
            fields.pop("price")
        return fields

    @transaction.atomic
    def create(self, validated_data):
        parts = taken_out(validated_data)
        return with_parts(super().create(validated_data), parts)

    @transaction.atomic
    def update(self, instance, validated_data):
        parts = taken_out(validated_data)
        return with_parts(super().update(instance, validated_data), parts)


def taken_out(told: dict) -> dict:
    """Return the contents and rates that were sent, and leave the product's own columns."""
    return {name: told.pop(name) for name in ("contents", "rates") if name in told}


def with_parts(product: Product, parts: dict) -> Product:
    """Return a product whose contents and rates are those that were sent."""
    for name, rows in parts.items():
        kind = getattr(product, name)
        kind.all().delete()
        for row in rows:
            part = kind.model(product=product, **row)
            part.full_clean()
            part.save()
    return Product.objects.prefetch_related("contents", "rates").get(pk=product.pk)


class ProductViewSet(BookViewSet):
    """Products with their contents and rates."""

    writers = CERTIFIED
    queryset = Product.objects.prefetch_related("contents", "rates")
    serializer_class = ProductSerializer

    def retrieve(self, request, *args, **kwargs):
        product = self.get_object()
        return Response(self.get_serializer(product).data, headers={"ETag": etag_of(product)})

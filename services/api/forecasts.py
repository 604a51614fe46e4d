"""The coming hours of the air: what is known about the yards, and hours entered by hand."""

from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers, status
from rest_framework.response import Response

from clients.access import STAFF
from services.api.said import Moment
from services.forms.weather import ForecastForm
from services.models import HourlyForecast, Yard
from services.weathering import enter_forecast
from treatments.api.keeping import ByRoleViewSet


class HourSerializer(serializers.ModelSerializer):
    """The forecast of an hour: of a cell of the grid, or about a yard; null is not known."""

    class Meta:
        model = HourlyForecast
        fields = ["id", "yard", "cell", "source", "starts_at", *ForecastForm.FIGURES]
        read_only_fields = fields


def figure():
    """Return a field for a figure of the air; what is left out is not known."""
    return serializers.DecimalField(max_digits=5, decimal_places=1, required=False, allow_null=True)


class EnterSerializer(serializers.Serializer):
    """The same figures for some hours about a yard."""

    yard = serializers.PrimaryKeyRelatedField(queryset=Yard.objects.all())
    starts_at = Moment()
    ends_at = Moment()
    wind_mph = figure()
    gust_mph = figure()
    temperature_f = figure()
    humidity_percent = figure()
    rain_percent = figure()


class ForecastViewSet(mixins.ListModelMixin, ByRoleViewSet):
    """Forecasts of the hours from now on."""

    readers = STAFF
    writers = STAFF
    queryset = HourlyForecast.objects.order_by("starts_at", "pk")
    serializer_class = HourSerializer

    def filter_queryset(self, queryset):
        return queryset.filter(starts_at__gte=timezone.now())

    @extend_schema(request=EnterSerializer, responses={201: HourSerializer(many=True)})
    def create(self, request):
        """Enter hours by hand; they count as known for three hours."""
        asked = EnterSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        told = asked.validated_data
        figures = {name: told.pop(name, None) for name in ForecastForm.FIGURES}
        rows = enter_forecast(**told, figures=figures, by=request.user, at=timezone.now())
        return Response(HourSerializer(rows, many=True).data, status.HTTP_201_CREATED)

"""Weather stations with their days, and tables of days that are taken in."""

from typing import Any

from django.utils.translation import gettext
from drf_spectacular.utils import extend_schema
from rest_framework import mixins, serializers
from rest_framework.decorators import action
from rest_framework.response import Response

from clients.access import STAFF
from clients.api import LyingSerializer
from treatments.api.keeping import BookViewSet, ByRoleViewSet, CleanSerializer
from treatments.models import DailyWeather, WeatherStation
from treatments.rules.weather_file import read_weather
from treatments.weather import enter_day, take_in_table


class StationSerializer(LyingSerializer, CleanSerializer):
    """A place where the temperatures of each day are known."""

    class Meta:
        model = WeatherStation
        fields = ["id", "name", "latitude", "longitude", "note"]


class TableSerializer(serializers.Serializer):
    """A table with commas; its columns are date, min, max, unit, and kind if wanted."""

    table = serializers.CharField(max_length=1_000_000, trim_whitespace=False)
    only_look = serializers.BooleanField(
        default=False, help_text="Say what is wrong with it and keep nothing."
    )


class TakenInSerializer(serializers.Serializer):
    """What became of the days of a table."""

    added = serializers.IntegerField()
    changed = serializers.IntegerField()
    same = serializers.IntegerField()
    left = serializers.IntegerField(help_text="Forecasts left out where a day was measured.")


class FaultSerializer(serializers.Serializer):
    """A cell that could not be read; rows are counted from 1 with the names."""

    row = serializers.IntegerField()
    column = serializers.CharField()
    sentence = serializers.CharField()


class TableFaultsSerializer(serializers.Serializer):
    """Every fault of a table, of which nothing was kept, and how many days read well."""

    days = serializers.IntegerField()
    faults = FaultSerializer(many=True)


class StationViewSet(BookViewSet):
    """Weather stations."""

    readers = STAFF
    writers = STAFF
    queryset = WeatherStation.objects.all()
    serializer_class = StationSerializer

    @extend_schema(
        request=TableSerializer,
        responses={200: TakenInSerializer, 422: TableFaultsSerializer},
    )
    @action(detail=True, methods=["post"])
    def table(self, request, pk):
        """Take the days of a table in, all or none; the same one twice is taken in once."""
        station = self.get_object()
        asked = TableSerializer(data=request.data)
        asked.is_valid(raise_exception=True)
        text = asked.validated_data["table"]
        read = read_weather(text)
        if read.faults or asked.validated_data["only_look"]:
            status = 422 if read.faults else 200
            return Response(faults_told(read), status=status)
        taken = take_in_table(station=station, text=text)
        return Response(TakenInSerializer(taken).data)


def faults_told(read) -> dict[str, Any]:
    """Return how many days of a table read well, and what is wrong, in the reader's language."""
    faults = [
        {"row": fault.row, "column": fault.column, "sentence": fault.say(gettext)}
        for fault in read.faults
    ]
    return {"days": len(read.days), "faults": faults}


class DailyWeatherSerializer(serializers.ModelSerializer):
    """The lowest and highest temperature of a day."""

    class Meta:
        model = DailyWeather
        fields = ["id", "station", "day", "minimum_f", "maximum_f", "source"]
        validators: list[Any] = []  # the action puts right a day that stands there already

    def create(self, validated_data):
        enter_day(**validated_data)
        return DailyWeather.objects.get(
            station=validated_data["station"], day=validated_data["day"]
        )


class DailyWeatherViewSet(
    mixins.CreateModelMixin, mixins.RetrieveModelMixin, mixins.ListModelMixin, ByRoleViewSet
):
    """Days' temperatures; entering a day again puts it right."""

    readers = STAFF
    writers = STAFF
    queryset = DailyWeather.objects.all()
    serializer_class = DailyWeatherSerializer

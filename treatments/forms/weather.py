"""What a person types or hands in of temperatures."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from clients.forms import LyingForm
from treatments.forms.refusals import tell
from treatments.models import DailyWeather, WeatherStation
from treatments.rules.weather_file import read_weather
from treatments.weather import TakenIn, enter_day, fault_in_words, take_in_table

LARGEST_BYTES = 1_000_000
TOO_LARGE = _("The file is larger than %(limit)s bytes; a year of days takes a twentieth of it.")
NOT_TEXT = _("The file is no text in UTF-8; save it as a table with commas (CSV).")


class StationForm(LyingForm, forms.ModelForm):
    """A station: its name and where it stands."""

    class Meta:
        model = WeatherStation
        fields = ["name", "latitude", "longitude", "note"]


class DayForm(forms.ModelForm):
    """The lowest and highest temperature of one day."""

    class Meta:
        model = DailyWeather
        fields = ["day", "minimum_f", "maximum_f", "source"]

    def enter(self, station: WeatherStation) -> TakenIn | None:
        """Enter the day; None where it is refused."""
        try:
            return enter_day(station=station, **self.cleaned_data)
        except ValidationError as refused:
            tell(self, refused)
            return None


class TableForm(forms.Form):
    """A table of days; a look at it keeps nothing, and a faulty one keeps nothing either."""

    table = forms.FileField(
        label=_("table"),
        help_text=_("A text with commas (CSV); the first row names the columns."),
        widget=forms.FileInput(attrs={"accept": ".csv,text/csv,text/plain"}),
    )

    def clean_table(self) -> str:
        """Return the text of the file, once every cell of it can be read."""
        sent = self.cleaned_data["table"]
        if sent.size > LARGEST_BYTES:
            raise ValidationError(TOO_LARGE, params={"limit": f"{LARGEST_BYTES:,}"})
        try:
            text = sent.read().decode("utf-8-sig")
        except UnicodeDecodeError:
            raise ValidationError(NOT_TEXT, code="not_text") from None
        faults = read_weather(text).faults
        if faults:
            raise ValidationError([fault_in_words(fault) for fault in faults], code="faulty")
        return text

    def days(self) -> int:
        """Return how many days the table tells."""
        return len(read_weather(self.cleaned_data["table"]).days)

    def take_in(self, station: WeatherStation) -> TakenIn:
        """Take the table in."""
        return take_in_table(station=station, text=self.cleaned_data["table"])

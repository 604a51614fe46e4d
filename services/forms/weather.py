"""What a person types of the coming hours, where no forecast is fetched or another is better."""

from datetime import timedelta

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from services.forms.spot import measured
from services.models import Yard
from services.rules.local_time import HourComesTwice, HourDoesNotExist, instant_of

ONE_DAY = timedelta(days=1)


class ForecastForm(forms.Form):
    """The same figures for some hours of a day; what is left empty is not known."""

    yard = forms.ModelChoiceField(Yard.objects.all(), label=_("yard"), empty_label=None)
    day = forms.DateField(label=_("day"))
    begins = forms.TimeField(label=_("from"), widget=forms.TimeInput)
    ends = forms.TimeField(
        label=_("until"),
        widget=forms.TimeInput,
        help_text=_("An hour that is not later than the first is of the next day."),
    )
    wind_mph = measured(_("wind"), _("mph"), step=1, most=200)
    gust_mph = measured(_("gusts"), _("mph"), step=1, most=250)
    temperature_f = measured(_("temperature"), "°F", step=1, most=140, least=-80)
    humidity_percent = measured(_("humidity"), "%", step=5, most=100)
    rain_percent = measured(_("chance of rain"), "%", step=10, most=100)

    FIGURES = ("wind_mph", "gust_mph", "temperature_f", "humidity_percent", "rain_percent")

    def clean(self):
        """Read the hours by the clock of the yard."""
        super().clean()
        typed = self.cleaned_data
        if all(typed.get(name) is not None for name in ("yard", "day", "begins", "ends")):
            last = typed["day"] + (ONE_DAY if typed["ends"] <= typed["begins"] else 0 * ONE_DAY)
            typed["starts_at"] = self._instant("begins", typed["day"])
            typed["ends_at"] = self._instant("ends", last)
        return typed

    def _instant(self, name, day):
        try:
            zone = self.cleaned_data["yard"].time_zone
            return instant_of(day, self.cleaned_data[name], zone, first=True)
        except (HourDoesNotExist, HourComesTwice) as refused:
            raise ValidationError({name: str(refused)}) from refused

    def figures(self):
        """Return what was typed of the air, by the names of the columns."""
        return {name: self.cleaned_data.get(name) for name in self.FIGURES}

"""Pages of temperatures: the stations, the days known at one, a table that is taken in."""

from datetime import timedelta

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Count, Max, Min
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_safe

from clients.access import STAFF, allow
from clients.views import entry
from treatments.clocks import home_day
from treatments.forms.weather import DayForm, StationForm, TableForm
from treatments.models import WeatherStation

ROWS = 60


@require_safe
@allow(STAFF)
def stations(request):
    """Show the stations with the days known at each."""
    found = WeatherStation.objects.annotate(
        number_of_days=Count("days"), first_day=Min("days__day"), last_day=Max("days__day")
    )
    return render(request, "treatments/stations.html", {"stations": found})


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def edit_station(request, station_id=None):
    """Enter a station, or change where it stands."""
    station = get_object_or_404(WeatherStation, pk=station_id) if station_id else None
    form = StationForm(request.POST or None, instance=station)
    if form.is_valid():
        return redirect("treatments:station", form.save().pk)
    return entry(request, form, "treatments/edit_station.html", station=station)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def station(request, station_id):
    """Show the days known at a station, the last first, and enter one by hand."""
    found = get_object_or_404(WeatherStation, pk=station_id)
    yesterday = home_day() - timedelta(days=1)
    form = DayForm(request.POST or None, initial={"day": yesterday})
    if form.is_valid() and form.enter(found):
        messages.success(request, _("The day is in the book."))
        return redirect("treatments:station", station_id)
    page = Paginator(found.days.order_by("-day"), ROWS).get_page(request.GET.get("page"))
    return entry(request, form, "treatments/station.html", station=found, page=page)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def table(request, station_id):
    """Take a table of days in, or only look whether it could be."""
    found = get_object_or_404(WeatherStation, pk=station_id)
    form = TableForm(request.POST or None, request.FILES or None)
    looked = None
    if form.is_valid() and "look" in request.POST:
        looked = form.days()
    elif form.is_valid():
        messages.success(request, taken_in_words(form.take_in(found)))
        return redirect("treatments:station", station_id)
    return entry(request, form, "treatments/weather_table.html", station=found, looked=looked)


def taken_in_words(taken):
    """Return what became of the days of a table."""
    added = ngettext("%(count)d day is new", "%(count)d days are new", taken.added)
    facts = {"added": added % {"count": taken.added}}
    facts |= {"changed": taken.changed, "same": taken.same, "left": taken.left}
    return (
        _(
            "The table is taken in: %(added)s, %(changed)s put right, %(same)s as they were, "
            "%(left)s forecasts left out where a day was measured."
        )
        % facts
    )

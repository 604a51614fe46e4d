"""The weather: what is known of the coming hours, and hours entered by hand."""

from django.conf import settings
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from clients.access import OFFICE, STAFF, allow, has_role
from clients.views import entry
from services.dispatching import today_at_yard
from services.forms.weather import ForecastForm
from services.models import Yard
from services.showing.weather import weather_shown
from services.weathering import NEAR_MILES, enter_forecast, forecasts_at


@require_safe
@allow(STAFF)
def weather(request):
    """Show what is known of the coming hours about each yard and in each cell of the grid."""
    shown = {
        "shown": weather_shown(forecasts_at(timezone.now())),
        "is_fetched": settings.WEATHER,
        "near_miles": NEAR_MILES,
        "is_office": has_role(request.user, OFFICE),
    }
    return render(request, "services/weather.html", shown)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def enter_weather(request):
    """Take some hours by hand."""
    first = {"yard": Yard.objects.order_by("pk").first(), "day": today_at_yard()}
    form = ForecastForm(request.POST or None, initial=first)
    if form.is_valid() and _entered(request, form):
        messages.success(request, _("The hours are kept, and count as known for three hours."))
        return redirect("services:weather")
    return entry(request, form, "services/enter_weather.html")


def _entered(request, form):
    typed = form.cleaned_data
    try:
        return enter_forecast(
            typed["yard"],
            starts_at=typed["starts_at"],
            ends_at=typed["ends_at"],
            figures=form.figures(),
            by=request.user,
            at=timezone.now(),
        )
    except ValidationError as refusal:
        form.add_error(None, refusal.messages)
        return None

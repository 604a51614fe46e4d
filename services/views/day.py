"""The day: where each crew goes, when and with what."""

from datetime import timedelta

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import ngettext
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_http_methods, require_safe

from clients.access import CREW, OFFICE, STAFF, allow, has_role
from services import dispatching
from services.models import Dispatch
from services.sheets.charts import as_svg
from services.showing.day import crew_days, dispatches_for, without_crew
from services.showing.map import map_facts, routes_on_map
from services.showing.skies import draw_day_in_weather
from services.travelling import driving_learned
from services.weathering import forecasts_at, load_labels

ONE = timedelta(days=1)


@require_safe
@allow(CREW)
def day(request, day=None):
    """Show the day of each crew; a technician sees that of the own crew."""
    today = dispatching.today_at_yard()
    day = day or today
    forecasts = forecasts_at(timezone.now())
    crews = crew_days(day, request.user, forecasts)
    shown = {
        "day": day,
        "today": today,
        "before": day - ONE,
        "after": day + ONE,
        "monday": day - timedelta(days=day.weekday()),
        "crew_days": crews,
        "routes": routes_on_map(each.dispatch for each in crews),
        "without_crew": without_crew(day, request.user),
        "is_staff": has_role(request.user, STAFF),
        "may_dispatch": has_role(request.user, OFFICE),
    }
    return render(request, "services/day.html", shown | _reckoned_by(forecasts))


def _reckoned_by(forecasts):
    """Return what the plans of a day rest on: weather, roads and recorded drives."""
    return {
        "outlooks": forecasts.outlooks,
        "goes_by_cells": bool(forecasts.cells),
        "driving": driving_learned(forecasts.yards, forecasts.now),
        "asks_roads": bool(settings.ROADS),
    }


@require_safe
@allow(CREW)
@cache_control(private=True, no_store=True)
def day_map(request, day):
    """Return the ways of a day's crews, as far as a person may see them, for the map to draw."""
    made = dispatches_for(request.user).filter(day=day).order_by("crew__name")
    return JsonResponse(map_facts(routes_on_map(made)))


@require_safe
@allow(CREW)
@cache_control(private=True, max_age=60)
def day_chart(request, dispatch_id):
    """Draw a crew's day by itself."""
    dispatch = get_object_or_404(dispatches_for(request.user), pk=dispatch_id)
    load_labels(dispatch.visits.all())
    return svg(draw_day_in_weather(dispatch, forecasts_at(timezone.now())))


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def recall_dispatch(request, dispatch_id):
    """Ask whether a crew's day is to be taken back, and take it back."""
    dispatch = get_object_or_404(Dispatch.objects.select_related("crew"), pk=dispatch_id)
    if request.method != "POST":
        return render(request, "services/recall_dispatch.html", {"dispatch": dispatch})
    day, recalled = dispatch.day, dispatching.recall(dispatch, by=request.user)
    words = ngettext(
        "%(count)s visit was taken back and has no crew now.",
        "%(count)s visits were taken back and have no crew now.",
        len(recalled),
    )
    messages.success(request, words % {"count": len(recalled)})
    return redirect("services:day", day)


def svg(figure):
    """Answer with a drawing as an image of its own."""
    return HttpResponse(as_svg(figure, fills=True), content_type="image/svg+xml")

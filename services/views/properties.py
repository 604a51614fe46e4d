"""A property: what is minded there, what grows there, what was applied and what comes."""

from datetime import date

from django.http import Http404
from django.shortcuts import get_object_or_404, render
from django.utils.dateparse import parse_date
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_safe

from clients.access import CREW, OFFICE, STAFF, allow, has_role, shows_gate_code
from clients.models import Planting, Property
from services.charting import NARROW, WIDTH, draw_plan, draw_season
from services.dispatching import today_at_yard
from services.showing.place import one_season, place_shown
from services.views.day import svg
from treatments.models import Pest

FIRST_DAY = date(1950, 1, 1)  # no book goes back so far; this project's choice


@require_safe
@allow(CREW)
def property_page(request, property_id):
    """Show a property with its latest year, or with the one that ended before ?until=."""
    found = Property.objects.for_user(request.user).select_related("client")
    found = found.prefetch_related("access_windows", "neighbours")
    place = get_object_or_404(found, pk=property_id)
    today = today_at_yard()
    ended_on = day_asked(request.GET.get("until", ""), today)
    shown = {
        "place": place,
        "shown": place_shown(place, today, ended_on),
        "sees_gate_code": shows_gate_code(request.user, place.pk),
        "is_staff": has_role(request.user, STAFF),
        "is_office": has_role(request.user, OFFICE),
    }
    name = "property_earlier" if ended_on else "property"
    return render(request, f"services/{name}.html", shown)


def day_asked(text: str, today: date) -> date | None:
    """Return the day before which a year ended, None where an address names none that was."""
    try:
        day = parse_date(text)
    except ValueError:
        return None
    return day if day and FIRST_DAY <= day < today else None


@require_safe
@allow(CREW)
@cache_control(private=True, max_age=60)
def property_plan(request, property_id):
    """Draw the plantings of a property by themselves."""
    place = get_object_or_404(Property.objects.for_user(request.user), pk=property_id)
    plantings = list(place.plantings.all())
    if not plantings:
        raise Http404
    return svg(draw_plan(plantings))


@require_safe
@allow(CREW)
@cache_control(private=True, max_age=60)
def season_chart(request, planting_id, pest_id):
    """Draw the year of a pest on a planting by itself, narrow for a phone."""
    plantings = Planting.objects.for_user(request.user).select_related("property")
    planting = get_object_or_404(plantings, pk=planting_id)
    pest = get_object_or_404(Pest, pk=pest_id)
    width = NARROW if "narrow" in request.GET else WIDTH
    return svg(draw_season(one_season(planting, pest, today_at_yard()), width))

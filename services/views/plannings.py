"""Plans in the making: a week dispatched in steps, and days planned anew when something came."""

from datetime import timedelta

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients.access import OFFICE, allow
from clients.views import entry
from services import dispatching, plannings, replanning
from services.forms.replan import ReplanForm, What
from services.models import Planning
from services.showing.plannings import comparison, part_in_words, yard_by_yard


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def replan(request):
    """Ask what came between, and have the days planned anew."""
    form = ReplanForm(request.POST or None, initial=_asked_for(request))
    if form.is_valid() and (planning := _offers_asked(request, form)):
        return redirect("services:planning", planning.pk)
    return entry(request, form, "services/replan.html")


@never_cache
@require_safe
@allow(OFFICE)
def planning(request, planning_id):
    """Show how far a plan is, what it came to, or the offers to choose from."""
    row = get_object_or_404(Planning.objects.select_related("asked_by"), pk=planning_id)
    shown = {
        "planning": row,
        "step": part_in_words(row),
        "comparison": comparison(row),
        "yards": yard_by_yard(row),
        "monday": row.first_day - timedelta(days=row.first_day.weekday()),
    }
    return render(request, "services/planning.html", shown)


@require_POST
@allow(OFFICE)
def stop_planning(request, planning_id):
    """Let a search end with the plan it has."""
    row = get_object_or_404(Planning, pk=planning_id)
    if plannings.stop(row, at=timezone.now()):
        messages.success(request, _("It ends with the plan it has after this step."))
    return redirect("services:planning", row.pk)


@require_POST
@allow(OFFICE)
def choose_offer(request, planning_id):
    """Let one of the offers become the plan."""
    row = get_object_or_404(Planning, pk=planning_id, kind=Planning.Kind.REPLAN)
    offer = request.POST.get("offer", "")
    try:
        is_new = replanning.choose(row, offer=offer, by=request.user, now=timezone.now())
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        said = _("This is the plan now.") if is_new else _("It had been chosen already.")
        messages.success(request, said)
    return redirect("services:planning", row.pk)


def _asked_for(request):
    """Return what the page that leads here knows: a crew and a day, or a day that is lost."""
    crew = request.GET.get("crew", "")
    without_crew = What.DAY if "lost" in request.GET else What.NOTHING
    return {
        "what": What.CREW if crew else without_crew,
        "crew": crew if crew.isdecimal() else None,
        "first": request.GET.get("day") or dispatching.today_at_yard(),
        "with_others": not crew,
    }


def _offers_asked(request, form):
    """Have the offers made at once where few visits are planned, else while nobody waits."""
    now = timezone.now()
    try:
        row = plannings.ask_replan(**form.asked(), by=request.user, now=now)
    except ValidationError as refusal:
        form.add_error(None, refusal)
        return None
    if plannings.is_small(row):
        plannings.run_planning(row.pk, now=now)
    return row

"""The week: which courses are in which week, what must go out, what stands in its way."""

from datetime import timedelta

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_POST, require_safe

from clients.access import OFFICE, STAFF, allow, has_role
from services import dispatching, plannings, telling
from services.forms.week import WeekSift
from services.models import Course
from services.showing.beginning import first_steps
from services.showing.week import week_shown
from services.weathering import forecasts_at

WEEK = timedelta(weeks=1)
IS_BEGINNING = "is_beginning"


@require_safe
@allow(STAFF)
def week(request, monday=None):
    """Show a week as a timetable; a book without courses shows what to do first."""
    today = dispatching.today_at_yard()
    monday = monday or today - timedelta(days=today.weekday())
    sift = WeekSift(request.GET or None)
    forecasts = forecasts_at(timezone.now())
    asked = {"forecasts": forecasts, "with_shopping": True, **sift.sift()}
    shown = week_shown(monday, today, request.user, **asked)
    days = {"monday": monday, "saturday": monday + timedelta(days=5)}
    ways = {"before": monday - WEEK, "after": monday + WEEK, "today": today}
    is_new = not shown.groups and not Course.objects.exists()
    steps = first_steps() if is_new else []
    note_beginning(request.session, is_new)
    is_office = has_role(request.user, OFFICE)
    context = {"week": shown, "sift": sift, "steps": steps, "is_office": is_office, **days, **ways}
    return render(request, "services/week.html", context)


def note_beginning(session, is_new):
    """Keep, for as long as somebody takes the first steps, that every page leads back to them."""
    if is_new:
        session[IS_BEGINNING] = True
    else:
        session.pop(IS_BEGINNING, None)


@require_POST
@allow(OFFICE)
def dispatch_week(request, monday):
    """Give the chosen rows to crews, each on its day, and say what came of it."""
    chosen = [
        int(key) for key in request.POST.getlist("visit") if key.isdecimal() and len(key) < 10
    ]
    if not chosen:
        messages.warning(request, _("No row was chosen."))
        return redirect("services:week", monday)
    if "in_steps" in request.POST or len(chosen) > plannings.MOST_AT_ONCE:
        return _dispatched_in_steps(request, monday, chosen)
    try:
        plans = dispatching.dispatch_week(
            monday=monday, visit_ids=chosen, by=request.user, now=timezone.now()
        )
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    else:
        tell(request, plans, set(chosen))
    return redirect("services:week", monday)


@require_POST
@allow(OFFICE)
def send_notices(request, monday):
    """Let a notice go out to everybody who is still to be told of a visit of the week."""
    now = timezone.now()
    shown = week_shown(monday, dispatching.today_at_yard(now), request.user)
    visits = {visit for each in shown.untold for visit in each.visits}
    rows = [row for visit in visits for row in telling.queue_notices(visit, now=now)]
    words = ngettext(
        "%(count)s notice goes out, as early as the rules allow.",
        "%(count)s notices go out, each as early as the rules allow.",
        len(rows),
    )
    messages.success(request, words % {"count": len(rows)})
    return redirect("services:outgoing")


def _dispatched_in_steps(request, monday, chosen):
    """Have a week dispatched while nobody waits, and lead to the page that follows it."""
    try:
        first, *_others = plannings.ask_week(
            monday=monday, visit_ids=chosen, by=request.user, now=timezone.now()
        )
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
        return redirect("services:week", monday)
    return redirect("services:planning", first.pk)


def tell(request, plans, chosen):
    """Say how many of the chosen visits have a crew, and how many were left out."""
    made = [visit.pk for plan in plans for each in plan.dispatches for visit in each.visits.all()]
    sent = len(chosen.intersection(made))
    left = len({each.visit.pk for plan in plans for each in plan.left_out})
    if sent:
        words = ngettext(
            "%(count)s visit has a crew; who goes where stands below the table.",
            "%(count)s visits have a crew; who goes where stands below the table.",
            sent,
        )
        messages.success(request, words % {"count": sent})
    if left:
        words = ngettext(
            "%(count)s visit was left out; the reason stands in the margin.",
            "%(count)s visits were left out; the reasons stand in the margin.",
            left,
        )
        messages.warning(request, words % {"count": left})

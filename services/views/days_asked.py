"""Which other days clients ask for, and the answer that a day stays."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from clients.access import STAFF, allow
from clients.views import entry
from services import asking
from services.forms.wishes import KeepDayForm
from services.models import DayAsked
from services.reach import may_schedule

LAST_ANSWERED = 20


@require_safe
@allow(STAFF)
def days_asked(request):
    """List what clients ask for, and what was answered last."""
    asked = _with_places(DayAsked.objects)
    context = {
        "rows": [(each, may_schedule(request.user, each.visit.course)) for each in asked.open()],
        "answered": asked.exclude(answer="").order_by("-answered_at")[:LAST_ANSWERED],
    }
    return render(request, "services/days_asked.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def keep_day(request, asked_id):
    """Answer a client that the day stays, and why."""
    asked = get_object_or_404(_with_places(DayAsked.objects), pk=asked_id)
    if not may_schedule(request.user, asked.visit.course):
        raise PermissionDenied
    form = KeepDayForm(request.POST or None)
    if form.is_valid():
        if asking.keep_day(asked, by=request.user, at=timezone.now(), **form.cleaned_data):
            messages.success(request, _("The day stays; the client is told."))
        else:
            messages.info(request, _("That was answered already."))
        return redirect("services:days_asked")
    return entry(request, form, "services/keep_day.html", asked=asked)


def _with_places(asked):
    return asked.select_related("visit__course__property__client", "visit__course__rotation")

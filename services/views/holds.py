"""Holds: a visit put off with its reason, and the hold lifted."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.dateparse import parse_date
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from clients.access import CERTIFIED, STAFF, allow
from clients.views import entry
from services import dispatching, holding
from services.forms.courses import HoldUntilForm
from services.models import Hold, Visit
from services.showing.delay import delay_shown


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def hold_visit(request, visit_id):
    """Put a visit off with the reason, and show beside it what that would do."""
    visits = Visit.objects.for_user(request.user).select_related(
        "course__property", "course__rotation__pest", "rotation_week"
    )
    visit = get_object_or_404(visits, pk=visit_id)
    today = dispatching.today_at_yard()
    form = HoldUntilForm(request.POST or None, initial=_asked(request), today=today)
    if form.is_valid() and (held := _held(request, form, visit)):
        messages.success(request, _said(held))
        return redirect("services:course", visit.course_id)
    delay = delay_shown(visit, _asked(request).get("not_before"), today)
    return entry(request, form, "services/hold_visit.html", visit=visit, delay=delay)


@require_POST
@allow(CERTIFIED)
def lift_hold(request, hold_id):
    """Lift a hold; where the day has passed the visit is planned anew and the later ones follow."""
    hold = get_object_or_404(Hold.objects.select_related("visit__course__property"), pk=hold_id)
    lifted = holding.lift_hold(hold, by=request.user, at=timezone.now())
    moved = len(lifted.moved)
    words = ngettext(
        "The hold is lifted; %(count)s visit was planned anew.",
        "The hold is lifted; %(count)s visits were planned anew.",
        moved,
    )
    messages.success(request, words % {"count": moved} if moved else _("The hold is lifted."))
    return redirect("services:course", hold.visit.course_id)


def _asked(request):
    """Return what the address proposes of the form; what cannot be read is left out."""
    reason, day = request.GET.get("reason"), request.GET.get("not_before", "")
    try:
        not_before = parse_date(day)
    except ValueError:
        not_before = None
    proposed = {"reason": reason if reason in Hold.Reason.values else None}
    return {name: value for name, value in (proposed | {"not_before": not_before}).items() if value}


def _held(request, form, visit):
    typed = form.cleaned_data
    told = {"reason": typed["reason"], "note": typed["note"]}
    told |= {"by": request.user, "at": timezone.now()}
    try:
        if typed["not_before"]:
            return holding.hold_until(visit, not_before=typed["not_before"], **told)
        return holding.Held(holding.hold_visit(visit, **told))
    except ValidationError as refusal:
        form.add_error(None, refusal.messages)
        return None


def _said(held):
    moved = len(held.moved)
    words = ngettext(
        "The visit is held; %(count)s visit was planned anew.",
        "The visit is held; %(count)s visits were planned anew.",
        moved,
    )
    return words % {"count": moved} if moved else _("The visit is held.")

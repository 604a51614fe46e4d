"""Holds: a visit put off with its reason, and the hold lifted."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST

from clients.access import CERTIFIED, STAFF, allow
from clients.views import entry
from services import holding
from services.forms.courses import HoldForm
from services.models import Hold, Visit


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def hold_visit(request, visit_id):
    """Put a visit off with the reason."""
    visits = Visit.objects.for_user(request.user).select_related(
        "course__property", "course__rotation", "rotation_week"
    )
    visit = get_object_or_404(visits, pk=visit_id)
    form = HoldForm(request.POST or None)
    if form.is_valid() and _held(request, form, visit):
        messages.success(request, _("The visit is held."))
        return redirect("services:course", visit.course_id)
    return entry(request, form, "services/hold_visit.html", visit=visit)


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


def _held(request, form, visit):
    typed = form.cleaned_data
    try:
        return holding.hold_visit(
            visit,
            reason=typed["reason"],
            note=typed["note"],
            by=request.user,
            at=timezone.now(),
        )
    except ValidationError as refusal:
        form.add_error(None, refusal.messages)
        return None

"""Pages of calibration: the worksheets, and one that is filled in, worked out and kept."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from clients.access import CERTIFIED, CREW, STAFF, allow, has_role
from treatments.calibrating import WORKSHEETS
from treatments.forms.calibrating import WorksheetForm
from treatments.models import Sprayer
from treatments.rules.calibration import course_ft
from treatments.rules.findings import refuses

WIDTHS_INCHES = (18, 20, 24, 30, 36, 48, 60, 72)


@require_safe
@allow(CREW)
def worksheets(request, sprayer_id):
    """Show the ways to calibrate a sprayer, and the course for each width."""
    context = {
        "sprayer": get_object_or_404(Sprayer, pk=sprayer_id),
        "worksheets": WORKSHEETS.values(),
        "is_staff": has_role(request.user, STAFF),
        "courses": [(width, course_ft(width)) for width in WIDTHS_INCHES],
    }
    return render(request, "treatments/worksheets.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(CREW)
def new_calibration(request, sprayer_id, method):
    """Fill in a worksheet: anybody of the crew works it out, a certified applicator keeps it."""
    sprayer = get_object_or_404(Sprayer, pk=sprayer_id)
    own = getattr(request.user, "applicator", None)
    form = WorksheetForm(request.POST or None, method=method, initial={"person": own})
    may_keep = has_role(request.user, CERTIFIED)
    keeps = request.POST.get("do") == "keep"
    if keeps and not may_keep:
        raise PermissionDenied
    output = form.work_out() if form.is_bound else None
    if keeps and output and form.is_valid() and (kept := form.keep(sprayer)):
        messages.success(
            request,
            _("The calibration holds until %(day)s.")
            % {"day": date_format(kept.expires_on, "SHORT_DATE_FORMAT")},
        )
        return redirect_to(request)
    return show(request, form, sprayer=sprayer, output=output, may_keep=may_keep, keeps=keeps)


def redirect_to(request):
    """Return to the sprayers, or to the mix for those who do not see them."""
    return redirect("treatments:sprayers" if has_role(request.user, STAFF) else "treatments:mix")


def show(request, form: WorksheetForm, *, keeps, output, **context):
    """Show a worksheet with what it comes to; 422 when something is wrong with what counts."""
    if form.is_bound and not keeps:
        form.leave_rest()
    shown = {
        **context,
        "form": form,
        "output": output,
        "is_refused": output is not None and refuses(list(output.findings)),
    }
    status = 422 if form.is_bound and form.errors and not request.htmx else 200
    return render(request, "treatments/new_calibration.html", shown, status=status)

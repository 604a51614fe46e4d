"""What inspectors may look at, and what they looked at: for the owner alone."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients.access import Role, allow
from clients.views import entry
from treatments.clocks import home_zone
from treatments.forms.inspecting import GrantForm
from treatments.inspecting import end_grant
from treatments.models import InspectorGrant, InspectorLook

OWNER = frozenset({Role.OWNER})
LOOKS_SHOWN = 200


@require_safe
@allow(OWNER)
def inspectors(request):
    """Show the grants, those that hold first, and the last looks that were taken."""
    now = timezone.now()
    grants = list(InspectorGrant.objects.select_related("inspector", "client", "granted_by"))
    context = {
        "open": [each for each in grants if each.is_open_at(now)],
        "over": [each for each in grants if not each.is_open_at(now)],
        "zone": home_zone(),
        "looks": InspectorLook.objects.select_related("inspector")[:LOOKS_SHOWN],
    }
    return render(request, "treatments/inspectors.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def new_grant(request):
    """Let an inspector look at some records for a time."""
    form = GrantForm(request.POST or None)
    if form.is_valid() and form.keep(request.user):
        messages.success(request, _("The inspector may look now."))
        return redirect("treatments:inspectors")
    return entry(request, form, "treatments/new_grant.html")


@require_POST
@allow(OWNER)
def end(request, grant_id):
    """Take a grant back."""
    row = get_object_or_404(InspectorGrant, pk=grant_id)
    if end_grant(row, at=timezone.now()):
        messages.success(request, _("The inspector sees nothing by this grant any more."))
    return redirect("treatments:inspectors")

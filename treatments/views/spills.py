"""Spills: what to do at once, the notes so far, and a new one."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from clients.access import CREW, STAFF, allow
from clients.sorting import Order
from clients.views import entry
from treatments.clocks import home_zone
from treatments.forms.spills import SpillForm
from treatments.models import SpillNote

ROWS = 50
SPILLS_BY = {"on": "happened_at", "place": "place", "product": "product__name"}


@require_safe
@allow(CREW)
def what_to_do(request):
    """Say what is done at once when something runs out, before anything else."""
    return render(request, "treatments/spill_steps.html")


@require_safe
@allow(STAFF)
def spills(request):
    """List the notes of spills."""
    found = SpillNote.objects.select_related("product", "noted_by", "lot")
    order = Order(request.GET, SPILLS_BY, usual="-on")
    context = {
        "order": order,
        "page": Paginator(order.sorted(found), ROWS).get_page(request.GET.get("page")),
        "zone": home_zone(),
    }
    return render(request, "treatments/spills.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(CREW)
def new_spill(request):
    """Note a spill."""
    with timezone.override(home_zone()):
        form = SpillForm(request.POST or None)
        if form.is_valid() and form.enter(request.user):
            messages.success(request, _("The spill is noted."))
            return redirect("treatments:spill_steps")
        return entry(request, form, "treatments/new_spill.html")

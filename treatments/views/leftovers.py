"""Pages of leftovers: what to do with them, what became of them, and what goes back to its lot."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from clients.access import CREW, STAFF, allow, has_role
from clients.sorting import Order
from clients.views import entry
from treatments.forms.leftovers import ConcentrateForm, LeftoverForm
from treatments.models import LeftoverNote
from treatments.rules.leftovers import Leftover, advice_on

ROWS = 50
LEFTOVERS_BY = {
    "on": "happened_on",
    "product": "product__name",
    "gallons": "gallons",
    "done": "done",
}


@require_safe
@allow(CREW)
def leftovers(request):
    """Show what to do with each kind of leftover, and what became of earlier ones."""
    found = LeftoverNote.objects.for_user(request.user).select_related("product", "noted_by")
    order = Order(request.GET, LEFTOVERS_BY, usual="-on")
    context = {
        "order": order,
        "of_mix": advice_on(Leftover.MIX),
        "of_rinse": advice_on(Leftover.TANK_RINSE),
        "of_concentrate": advice_on(Leftover.CONCENTRATE),
        "page": Paginator(order.sorted(found), ROWS).get_page(request.GET.get("page")),
        "is_staff": has_role(request.user, STAFF),
    }
    return render(request, "treatments/leftovers.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(CREW)
def new_leftover(request):
    """Note what was left over, and what became of it."""
    form = LeftoverForm(request.POST or None, initial={"product": request.GET.get("product")})
    if form.is_valid() and form.enter(request.user):
        messages.success(request, _("The note is in the book."))
        return redirect("treatments:leftovers")
    return entry(request, form, "treatments/new_leftover.html")


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def return_concentrate(request):
    """Put undiluted concentrate from a hose-end jar back into its lot."""
    form = ConcentrateForm(request.POST or None, initial={"lot": request.GET.get("lot")})
    if form.is_valid() and form.enter(request.user):
        messages.success(request, _("The ledger holds it."))
        return redirect("treatments:lot", form.cleaned_data["lot"].pk)
    return entry(request, form, "treatments/return_concentrate.html")

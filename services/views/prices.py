"""Prices, costs of hours and miles, and taxes: read by the office; taxes the owner enters alone."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients.access import OFFICE, Role, allow, has_role
from clients.views import entry
from services.dispatching import today_at_yard
from services.forms.prices import CostForm, PriceForm, TaxForm
from services.models import CostRate, PriceRule, TaxRate
from services.pricing import end_price

OWNER = frozenset({Role.OWNER})


@require_safe
@allow(OFFICE)
def prices(request):
    """Show all prices, costs and taxes, the newest of each first."""
    today = today_at_yard()
    rules = PriceRule.objects.select_related("client", "property", "rotation")
    shown = {
        "prices": rules,
        "costs": CostRate.objects.all(),
        "taxes": TaxRate.objects.all(),
        "today": today,
        "is_owner": has_role(request.user, OWNER),
    }
    return render(request, "services/prices.html", shown)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def new_price(request):
    """Enter a price."""
    return _entered(request, PriceForm, "services/new_price.html")


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def new_cost(request):
    """Enter what an hour or a mile costs."""
    return _entered(request, CostForm, "services/new_cost.html")


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def new_tax(request):
    """Enter a tax, as the owner knows it."""
    return _entered(request, TaxForm, "services/new_tax.html")


@require_POST
@allow(OFFICE)
def last_day_of_price(request, price_id):
    """Let a price end with today."""
    rule = get_object_or_404(PriceRule, pk=price_id)
    try:
        end_price(rule, today_at_yard())
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
    else:
        messages.success(request, _("The price holds until today."))
    return redirect("services:prices")


def _entered(request, form_class, template):
    form = form_class(request.POST or None, initial={"from_day": today_at_yard()})
    if form.is_valid():
        form.instance.made_by = request.user
        form.save()
        return redirect("services:prices")
    return entry(request, form, template)

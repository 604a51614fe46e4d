"""Pages of the store: lots by product, the ledger of each, and what enters or leaves."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from clients.access import OFFICE, STAFF, allow, has_role
from clients.sorting import Order
from clients.views import entry
from treatments.clocks import home_day, home_zone
from treatments.forms.store import CountForm, DisposeForm, MoveForm, ReceiveForm, ReturnForm
from treatments.models import Locker, Lot, Product, StockEntry
from treatments.shopping import shopping_list
from treatments.storekeeping import carried
from treatments.views.shelves import ledger, shelves

ROWS = 50
DISPOSALS_BY = {"on": "happened_at", "product": "lot__product__name"}
MOVES = {"count": CountForm, "dispose": DisposeForm, "move": MoveForm, "return": ReturnForm}


@require_safe
@allow(STAFF)
def store(request):
    """Show the lots of the store by product, what expires first at the head."""
    empty_too = request.GET.get("empty") == "too"
    today = home_day()
    found = shelves(today, empty_too=empty_too)
    any_reserved = any(row.reserved for shelf in found for row in shelf.rows)
    any_carried = any(row.carried for shelf in found for row in shelf.rows)
    context = {
        "shelves": found,
        "empty_too": empty_too,
        "any_reserved": any_reserved,
        "any_carried": any_carried,
        "columns": 5 + any_reserved + any_carried,
        "to_buy": shopping_list(today),
        "has_products": bool(found) or Product.objects.exists(),
    }
    return render(request, "treatments/store.html", context)


@require_safe
@allow(STAFF)
def disposals(request):
    """Show what left the store to be disposed of, with the words that were written beside it."""
    # A line of an application has a record, so these few are found by having none.
    found = StockEntry.objects.filter(kind=StockEntry.Kind.DISPOSED, record__isnull=True)
    found = found.select_related("lot__product", "entered_by")
    order = Order(request.GET, DISPOSALS_BY, usual="-on")
    page = Paginator(order.sorted(found), ROWS).get_page(request.GET.get("page"))
    context = {"page": page, "order": order, "zone": home_zone()}
    return render(request, "treatments/disposals.html", context)


@require_safe
@allow(STAFF)
def lot(request, lot_id):
    """Show a lot with its ledger."""
    lot = get_object_or_404(Lot.objects.select_related("product").with_balance(), pk=lot_id)
    context = {"lines": ledger(lot), "has_trucks": Locker.objects.exists(), "zone": home_zone()}
    return render(request, "treatments/lot.html", context | where_it_lies(lot))


def where_it_lies(lot):
    """Return a lot that was loaded with its balance, with what lies on the shelf and on trucks."""
    on_trucks = carried([lot]).get(lot.pk, [])
    on_shelf = lot.balance - sum(each.amount for each in on_trucks)
    return {"lot": lot, "on_shelf": on_shelf, "on_trucks": on_trucks}


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def receive(request):
    """Enter a delivery."""
    initial = {"product": request.GET.get("product") or only_product()}
    shows_prices = has_role(request.user, OFFICE)
    form = ReceiveForm(request.POST or None, initial=initial, shows_prices=shows_prices)
    if form.is_valid() and (lot := form.enter(request.user)):
        messages.success(request, _("%(lot)s is in the store.") % {"lot": lot})
        return redirect("treatments:lot", lot.pk)
    return entry(request, form, "treatments/receive.html")


def only_product():
    """Return the id of the one product of a new book, or None where there are more."""
    known = list(Product.objects.values_list("pk", flat=True)[:2])
    return known[0] if len(known) == 1 else None


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def move(request, lot_id, kind):
    """Count a lot, move or dispose of some of it, or bring some of it back."""
    lot = get_object_or_404(Lot.objects.select_related("product").with_balance(), pk=lot_id)
    form = MOVES[kind](request.POST or None, lot=lot)
    if form.is_valid() and form.enter(request.user):
        messages.success(request, _("The ledger holds it."))
        return redirect("treatments:lot", lot_id)
    return entry(request, form, f"treatments/{kind}_lot.html", **where_it_lies(lot))

"""Pages of products, their ingredients, and pests."""

from django.contrib import messages
from django.db import transaction
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from clients.access import CERTIFIED, OFFICE, STAFF, Role, allow, has_role
from clients.sorting import Order
from clients.stretches import Stretch
from clients.views import entry
from treatments.forms.products import (
    ContentFormSet,
    IngredientForm,
    PestForm,
    ProductForm,
    RateFormSet,
)
from treatments.gathering import with_labels
from treatments.models import ActiveIngredient, Pest, Product
from treatments.views.facts import label_facts

PRODUCTS_BY = {
    "name": "name",
    "registration": "epa_registration_number",
    "signal": "signal_word",
}
GLOSSARY_BY = {
    "pests": {"name": "common_name", "scientific": "scientific_name", "eppo": "eppo_code"},
    "ingredients": {
        "name": "name",
        "irac": "irac_group",
        "frac": "frac_group",
        "days": "residual_days",
    },
}
KINDS = {"pests": (Pest, PestForm), "ingredients": (ActiveIngredient, IngredientForm)}


@require_safe
@allow(STAFF)
def products(request):
    """Show the products of the book with what their labels limit."""
    found = Product.objects.prefetch_related("contents__ingredient")
    order = Order(request.GET, PRODUCTS_BY, usual="name")
    page = Stretch(found, request.GET, by=(order.column, "pk"), falling=order.falling)
    shown = {"page": page, "order": order, **rights(request)}
    return render(request, "treatments/products.html", shown)


@require_safe
@allow(STAFF)
def product(request, product_id):
    """Show what a label says."""
    product = get_object_or_404(with_labels(Product.objects.all()), pk=product_id)
    may_remove = has_role(request.user, frozenset({Role.OWNER}))
    context = {"product": product, "facts": label_facts(product), "may_remove": may_remove}
    context |= rights(request)
    return render(request, "treatments/product.html", context)


def rights(request) -> dict[str, bool]:
    """Return whether this person may enter what a label says."""
    return {"may_enter": has_role(request.user, CERTIFIED)}


@require_http_methods(["GET", "HEAD", "POST"])
@allow(CERTIFIED)
def edit_product(request, product_id=None):
    """Enter a product from its label, or change what was entered."""
    product = get_object_or_404(Product, pk=product_id) if product_id else Product()
    shows_prices = has_role(request.user, OFFICE)
    form = ProductForm(request.POST or None, instance=product, shows_prices=shows_prices)
    contents = ContentFormSet(request.POST or None, instance=product, prefix="contents")
    rates = RateFormSet(request.POST or None, instance=product, prefix="rates")
    if request.method == "POST" and kept(form, contents, rates):
        messages.success(request, _("The label of %(name)s is kept.") % {"name": product})
        return redirect("treatments:product", product.pk)
    return entry(
        request, form, "treatments/edit_product.html", contents=contents, rates=rates, given=product
    )


def kept(form, contents, rates) -> bool:
    """Keep a product with its ingredients and rates, all or nothing; say whether it was kept."""
    if not all([form.is_valid(), contents.is_valid(), rates.is_valid()]):
        return False
    with transaction.atomic():
        if form.keep() is None:
            return False
        contents.save()
        rates.save()
    return True


@require_safe
@allow(STAFF)
def glossary(request, kind):
    """Show the pests or the active ingredients of the book."""
    model, _form = KINDS[kind]
    order = Order(request.GET, GLOSSARY_BY[kind], usual="name")
    things = order.sorted(model._default_manager.all())
    context = {"kind": kind, "things": things, "order": order, **rights(request)}
    return render(request, f"treatments/{kind}.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(CERTIFIED)
def edit_glossary(request, kind, thing_id=None):
    """Enter or change a pest or an active ingredient."""
    model, form_class = KINDS[kind]
    thing = get_object_or_404(model, pk=thing_id) if thing_id else None
    form = form_class(request.POST or None, instance=thing)
    if form.is_valid():
        form.save()
        return redirect("treatments:glossary", kind)
    return entry(request, form, "treatments/edit_glossary.html", kind=kind, given=thing)

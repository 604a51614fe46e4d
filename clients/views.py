"""Pages where clients, properties and plantings are listed and kept."""

from django.contrib import messages
from django.db.models import Count, OuterRef, Q, Subquery
from django.db.models.functions import Coalesce
from django.shortcuts import get_object_or_404, redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients.access import OFFICE, STAFF, Role, allow, has_role, shows_gate_code
from clients.forms import AccessWindowForm, ClientForm, NeighbourForm, PlantingForm, PropertyForm
from clients.lying import jurisdiction_of
from clients.models import AccessWindow, Client, Neighbour, Planting, Property
from clients.offering import words_of
from clients.sorting import Order
from clients.stretches import Stretch

ROWS = 50
PROPERTIES_BY = {"name": "name", "client": "client__name", "city": "city"}


@require_safe
@allow(STAFF)
def properties(request):
    """Show the register of properties, by name or as far as words match."""
    words = words_asked(request)
    found = Property.objects.for_user(request.user).select_related("client")
    found = found.annotate(number_of_plantings=how_many_plantings())
    if words:
        found = found.filter(
            Q(name__icontains=words) | Q(client__name__icontains=words) | Q(street__icontains=words)
        )
    order = Order(request.GET, PROPERTIES_BY, usual="name")
    shown = {
        "page": Stretch(found, request.GET, by=(order.column, "pk"), falling=order.falling),
        "order": order,
        "words": words,
        "placeless": without_property(request.user, words),
        "is_office": has_role(request.user, OFFICE),
    }
    return render(request, "clients/properties.html", shown)


def how_many_plantings():
    """Return how many plantings a property has, asked for each one that is shown."""
    theirs = Planting.objects.filter(property=OuterRef("pk")).order_by().values("property")
    return Coalesce(Subquery(theirs.values(number=Count("pk"))), 0)


def without_property(user, words):
    """Pick the first clients that were taken in and have no property yet."""
    found = Client.objects.for_user(user).filter(properties__isnull=True, name__icontains=words)
    return found.order_by("name", "pk")[:ROWS]


@require_safe
@allow(STAFF)
def client(request, client_id):
    """Show a client's card with the properties."""
    client = get_object_or_404(Client.objects.for_user(request.user), pk=client_id)
    context = {
        "client": client,
        "may_remove": has_role(request.user, frozenset({Role.OWNER})),
        "is_office": has_role(request.user, OFFICE),
    }
    return render(request, "clients/client.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def new_client(request):
    """Take in a new client, then ask for the first property."""
    form = ClientForm(request.POST or None)
    if form.is_valid() and (client := form.keep()):
        messages.success(request, _("%(name)s is in the book.") % {"name": client})
        return redirect("clients:new_property", client.pk)
    return entry(request, form, "clients/new_client.html")


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def edit_client(request, client_id):
    """Change a client's card."""
    client = get_object_or_404(Client.objects.for_user(request.user), pk=client_id)
    form = ClientForm(request.POST or None, instance=client)
    if form.is_valid() and form.keep():
        return redirect("clients:client", client_id)
    return entry(request, form, "clients/edit_client.html", client=client)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def new_property(request, client_id):
    """Take in a property of a client, then ask for its first planting."""
    client = get_object_or_404(Client.objects.for_user(request.user), pk=client_id)
    form = PropertyForm(request.POST or None, instance=begun_at(client))
    if form.is_valid() and (place := form.keep()):
        return redirect("clients:new_planting", place.pk)
    return entry(request, form, "clients/new_property.html", client=client)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def edit_property(request, property_id):
    """Change a property."""
    place = get_object_or_404(Property.objects.for_user(request.user), pk=property_id)
    sees_code = shows_gate_code(request.user, property_id)
    form = PropertyForm(request.POST or None, instance=place, shows_gate_code=sees_code)
    if form.is_valid() and form.keep():
        return redirect("services:property", property_id)
    return entry(request, form, "clients/edit_property.html", place=place)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def new_planting(request, property_id):
    """Take in a planting of a property."""
    place = get_object_or_404(Property.objects.for_user(request.user), pk=property_id)
    form = PlantingForm(request.POST or None, instance=Planting(property=place))
    if form.is_valid() and form.keep():
        return redirect("services:property", property_id)
    return entry(request, form, "clients/new_planting.html", place=place)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def edit_planting(request, planting_id):
    """Change a planting."""
    plantings = Planting.objects.for_user(request.user).select_related("property")
    planting = get_object_or_404(plantings, pk=planting_id)
    form = PlantingForm(request.POST or None, instance=planting)
    if form.is_valid() and form.keep():
        return redirect("services:property", planting.property_id)
    return entry(request, form, "clients/edit_planting.html", place=planting.property)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def access(request, property_id):
    """Show and add the hours in which a crew is let in."""
    place = get_object_or_404(Property.objects.for_user(request.user), pk=property_id)
    form = AccessWindowForm(request.POST or None, instance=AccessWindow(property=place))
    if form.is_valid():
        form.save()
        return redirect("clients:access", property_id)
    return entry(request, form, "clients/access.html", place=place)


@require_POST
@allow(STAFF)
def remove_access(request, window_id):
    """Take an access window away."""
    places = Property.objects.for_user(request.user)
    window = get_object_or_404(AccessWindow, pk=window_id, property__in=places)
    window.delete()
    return redirect("clients:access", window.property_id)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def neighbours(request, property_id):
    """Show and add the neighbours who are told before a treatment."""
    place = get_object_or_404(Property.objects.for_user(request.user), pk=property_id)
    form = NeighbourForm(request.POST or None, instance=Neighbour(property=place))
    if form.is_valid():
        form.save()
        return redirect("clients:neighbours", property_id)
    return entry(request, form, "clients/neighbours.html", place=place)


@require_POST
@allow(STAFF)
def remove_neighbour(request, neighbour_id):
    """Take a neighbour off the list."""
    places = Property.objects.for_user(request.user)
    neighbour = get_object_or_404(Neighbour, pk=neighbour_id, property__in=places)
    neighbour.delete()
    return redirect("clients:neighbours", neighbour.property_id)


def begun_at(client):
    """Return a property that lies where the client's letters go, until another place is typed."""
    return Property(
        client=client,
        name=client.street[:100],
        street=client.street,
        city=client.city,
        postal_code=client.postal_code,
        jurisdiction=jurisdiction_of(client.region),
    )


def words_asked(request):
    """Return the words that are looked for."""
    return words_of(request.GET.get("words", ""))


def entry(request, form, template, **context):
    """Show a form: as it is, or with what is wrong (422), or after somebody else's change (412)."""
    stale = any(error.code == "stale" for error in form.errors.as_data().get("__all__", []))
    status = 412 if stale else 422 if form.errors else 200
    return render(request, template, {"form": form, **context}, status=status)

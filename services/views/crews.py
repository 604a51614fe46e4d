"""Yards, crews and trucks: entered and changed."""

from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_http_methods

from clients.access import OFFICE, allow
from clients.views import entry
from services.forms.crews import CrewForm, TruckForm, YardForm
from services.models import Crew, Technician, Truck, Yard
from treatments.models import Business, Sprayer
from treatments.storekeeping import cargo_of


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def edit_yard(request, yard_id=None):
    """Enter or change a yard."""
    business = Business.of_this_book()
    begun = {"address": business.address(), "supervisor_phone": business.phone}
    return _edit(request, YardForm, "services/edit_yard.html", _found(Yard, yard_id), begun)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def edit_crew(request, crew_id=None):
    """Enter or change a crew."""
    begun: dict[str, object] = {"yard": Yard.objects.first()}
    if not Crew.objects.exists():
        begun["people"] = Technician.objects.all()
    return _edit(request, CrewForm, "services/edit_crew.html", _found(Crew, crew_id), begun)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def edit_truck(request, truck_id=None):
    """Enter or change a truck."""
    begun: dict[str, object] = {"crew": Crew.objects.filter(truck=None).first()}
    if not Truck.objects.exists():
        begun["sprayers"] = Sprayer.objects.all()
    truck = _found(Truck, truck_id)
    shown = {"cargo": cargo_of(truck.locker) if truck else []}
    return _edit(request, TruckForm, "services/edit_truck.html", truck, begun, **shown)


def _found(kind, key):
    return get_object_or_404(kind, pk=key) if key else None


def _edit(request, form_class, template, given, begun, **shown):
    """Ask for a thing, keep it and go back to the people.

    begun: what a new one begins with
    """
    form = form_class(request.POST or None, instance=given, initial=None if given else begun)
    if form.is_valid():
        form.save()
        return redirect("services:people")
    return entry(request, form, template, given=given, **shown)

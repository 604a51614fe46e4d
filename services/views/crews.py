"""Yards, crews and trucks: entered and changed."""

from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_http_methods

from clients.access import OFFICE, allow
from clients.views import entry
from services.forms.crews import CrewForm, TruckForm, YardForm
from services.models import Crew, Truck, Yard


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def edit_yard(request, yard_id=None):
    """Enter or change a yard."""
    return _edit(request, YardForm, "services/edit_yard.html", _found(Yard, yard_id))


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def edit_crew(request, crew_id=None):
    """Enter or change a crew."""
    return _edit(request, CrewForm, "services/edit_crew.html", _found(Crew, crew_id))


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def edit_truck(request, truck_id=None):
    """Enter or change a truck."""
    return _edit(request, TruckForm, "services/edit_truck.html", _found(Truck, truck_id))


def _found(kind, key):
    return get_object_or_404(kind, pk=key) if key else None


def _edit(request, form_class, template, given):
    """Ask for a thing, keep it and go back to the people."""
    form = form_class(request.POST or None, instance=given)
    if form.is_valid():
        form.save()
        return redirect("services:people")
    return entry(request, form, template, given=given)

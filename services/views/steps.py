"""The mildest steps, planned as visits: to wash, clean up, release or count."""

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from clients.access import STAFF, allow
from clients.models import Planting
from clients.views import entry
from services.dispatching import today_at_yard
from services.forms.steps import StepForm
from treatments.models import Pest


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def take_step(request, planting_id, pest_id):
    """Plan one step without a spray on a planting."""
    plantings = Planting.objects.for_user(request.user).select_related("property__client")
    planting = get_object_or_404(plantings, pk=planting_id)
    pest, today = get_object_or_404(Pest, pk=pest_id), today_at_yard()
    begins = {"step": request.GET.get("step"), "day": today}
    form = StepForm(request.POST or None, initial=begins)
    if form.is_valid() and (course := form.take(planting, pest, request.user, today)):
        messages.success(request, _("The step stands in the week as a visit."))
        return redirect("services:course", course.pk)
    return entry(request, form, "services/take_step.html", planting=planting, pest=pest)

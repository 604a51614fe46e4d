"""Whether the air lets anybody spray, looked at without a visit."""

from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_safe

from clients.access import CREW, allow
from services.forms.sky import AirForm
from services.showing.air import air_looked_at, asked_of


@require_safe
@allow(CREW)
def air(request):
    """Show what stands against spraying in the air that was measured, and why."""
    form = AirForm(request.GET)
    looked = air_looked_at(asked_of(form, timezone.now())) if form.is_valid() else None
    status = 422 if form.errors else 200
    return render(request, "services/air.html", {"form": form, "looked": looked}, status=status)

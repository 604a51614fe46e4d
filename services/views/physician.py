"""For a physician or a poison center: what was applied at a property, and its first aid."""

import logging
from datetime import timedelta

from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from clients.access import CREW, allow
from clients.models import Property
from treatments.models import ApplicationRecord, Business

logger = logging.getLogger(__name__)

LOOKED_AT = timedelta(days=30)


@require_safe
@allow(CREW)
@never_cache
def physician(request, property_id):
    """Show what was applied at a property within 30 days, and note who looked."""
    places = Property.objects.for_user(request.user).select_related("client")
    place = get_object_or_404(places, pk=property_id)
    note_look(request.user, place)
    now = timezone.now()
    shown = {
        "place": place,
        "records": applied_at(place, request.user, now),
        "now": now,
        "since": now - LOOKED_AT,
        "business": Business.of_this_book(),
    }
    return render(request, "services/physician.html", shown)


def applied_at(place, user, now):
    """Pick what was applied at a property within 30 days, the last first."""
    kept = ApplicationRecord.objects.for_user(user).current().filter(planting__property=place)
    recent = kept.filter(done_at__gte=now - LOOKED_AT, done_at__lte=now)
    return recent.select_related("product").order_by("-done_at", "-number")


def note_look(user, place):
    """Write down who looked at which property's page for a physician."""
    # A warning, so that no level of logging that settings allow but ERROR leaves it out.
    logger.warning(
        "A physician's page was looked at.", extra={"user_id": user.pk, "property_id": place.pk}
    )

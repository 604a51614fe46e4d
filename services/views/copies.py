"""Mails a copy of a record to its client."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from clients.access import STAFF, allow
from services import telling
from treatments.models import ApplicationRecord


@require_POST
@allow(STAFF)
def mail_copy(request, number):
    """Let a copy of a record that stands go out to its client."""
    kept = ApplicationRecord.objects.for_user(request.user).current()
    record = get_object_or_404(kept.select_related("planting__property__client"), number=number)
    try:
        telling.mail_copy(record, now=timezone.now())
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
    else:
        messages.success(request, _("The copy goes out; it counts as given once it did."))
    return redirect("treatments:record", number)

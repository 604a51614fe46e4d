"""Signs that stand at properties, and that somebody took one down."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from clients.access import CREW, allow
from treatments import posting
from treatments.models import ApplicationRecord


@require_safe
@allow(CREW)
def signs(request):
    """Show which signs stand, when each may come down, and on whose list that is."""
    now = timezone.now()
    standing = posting.signs_standing(ApplicationRecord.objects.for_user(request.user), now)
    rows = [(sign, sign.may_come_down_at(now)) for sign in standing]
    context = {
        "ours": [row for row in rows if not row[0].is_clients()],
        "clients": [row for row in rows if row[0].is_clients()],
    }
    return render(request, "services/signs.html", context)


@require_POST
@allow(CREW)
def take_down(request, number):
    """Keep that the sign of a record was taken down just now."""
    records = ApplicationRecord.objects.for_user(request.user).select_related("planting__property")
    record = get_object_or_404(records, number=number)
    try:
        posting.take_down(record, by=request.user, at=timezone.now())
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
    else:
        messages.success(request, _("It is written down that the sign came down."))
    return redirect("services:signs")

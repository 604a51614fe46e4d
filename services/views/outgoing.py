"""What leaves the book for the outside: waiting, gone out, or failed."""

from datetime import timedelta

from django.conf import settings
from django.contrib import messages
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from clients.access import OFFICE, STAFF, allow, has_role
from clients.stretches import Stretch
from services.models import Outbox
from services.safekeeping import last_backup, made_at
from services.showing.outgoing import waiting_and_failed, with_reasons
from services.showing.today import yard_zone
from services.telling import NobodyToTell, send_again
from services.telling.letters import letter_for

LATE_BACKUP = timedelta(days=2)


@require_safe
@allow(STAFF)
def outgoing(request):
    """Show what waits, what failed and why, and what went out last."""
    failed, waiting = waiting_and_failed()
    gone = Outbox.objects.filter(done_at__isnull=False)
    page = Stretch(gone, request.GET, by=("done_at", "pk"), falling=True)
    shown = {
        "failed": failed,
        "waiting": waiting,
        "page": page,
        "gone": with_reasons(page.object_list),
        "zone": yard_zone(),
        "is_office": has_role(request.user, OFFICE),
        **_of_backups(),
    }
    return render(request, "services/outgoing.html", shown)


def _of_backups():
    """Return when the last backup was made, and whether one a day is late."""
    last = last_backup()
    made = made_at(last) if last else None
    is_late = made is None or made < timezone.now() - LATE_BACKUP
    return {
        "backup_made_at": made,
        "backups_are_nightly": settings.NIGHTLY_BACKUPS,
        "backup_is_late": settings.NIGHTLY_BACKUPS and is_late,
    }


@require_safe
@allow(STAFF)
def preview(request, outbox_id):
    """Show a letter as it would go out now, before it does."""
    row = get_object_or_404(Outbox, pk=outbox_id)
    if row.kind == Outbox.Kind.HOOK:
        raise Http404
    try:
        letter, why_not = letter_for(row), ""
    except NobodyToTell as reason:
        letter, why_not = None, str(reason)
    return render(
        request, "services/letter.html", {"row": row, "letter": letter, "why_not": why_not}
    )


@require_POST
@allow(OFFICE)
def try_again(request, outbox_id):
    """Give what failed another try."""
    row = get_object_or_404(Outbox, pk=outbox_id)
    if send_again(row, now=timezone.now()):
        messages.success(request, _("It is tried again now."))
    return redirect("services:outgoing")

"""What leaves the book for the outside: waiting, gone out, or failed."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from clients.access import OFFICE, STAFF, allow, has_role
from services.models import Outbox
from services.showing.outgoing import waiting_and_failed, with_reasons
from services.showing.today import yard_zone
from services.telling import send_again

ROWS = 50


@require_safe
@allow(STAFF)
def outgoing(request):
    """Show what waits, what failed and why, and what went out last."""
    failed, waiting = waiting_and_failed()
    gone = Outbox.objects.filter(done_at__isnull=False).order_by("-done_at", "-pk")
    page = Paginator(gone, ROWS).get_page(request.GET.get("page"))
    shown = {
        "failed": failed,
        "waiting": waiting,
        "page": page,
        "gone": with_reasons(page.object_list),
        "zone": yard_zone(),
        "is_office": has_role(request.user, OFFICE),
    }
    return render(request, "services/outgoing.html", shown)


@require_POST
@allow(OFFICE)
def try_again(request, outbox_id):
    """Give what failed another try."""
    row = get_object_or_404(Outbox, pk=outbox_id)
    if send_again(row, now=timezone.now()):
        messages.success(request, _("It is tried again now."))
    return redirect("services:outgoing")

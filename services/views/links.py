"""Links that open a client's page: made, shown once, and taken back by the office."""

from django.conf import settings
from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from clients.access import OFFICE, allow
from clients.models import Client
from services import telling
from services.models import ClientLink
from treatments.clocks import home_zone


@require_safe
@allow(OFFICE)
@never_cache
def links(request, client_id):
    """Show the links of a client: which are open, and until when."""
    return shown(request, client_for(request, client_id))


@require_POST
@allow(OFFICE)
@never_cache
def make_link(request, client_id):
    """Make a link for a client and show it, this once."""
    client = client_for(request, client_id)
    token = telling.make_link(client, now=timezone.now())
    address = settings.ADDRESS + reverse("services:open_link", args=[token])
    return shown(request, client, address=address)


@require_POST
@allow(OFFICE)
def revoke_link(request, link_id):
    """Take a link back; whoever has it sees whom to ask."""
    link = get_object_or_404(ClientLink, pk=link_id)
    if telling.revoke_link(link, at=timezone.now()):
        messages.success(request, _("The link opens nothing any more."))
    return redirect("services:links", link.client_id)


def client_for(request, client_id):
    """Return a client that the person may see."""
    return get_object_or_404(Client.objects.for_user(request.user), pk=client_id)


def shown(request, client, address=""):
    """Show a client's links, with a new one where it was just made."""
    now = timezone.now()
    rows = [(link, link.is_open_at(now)) for link in client.links.all()]
    context = {"client": client, "rows": rows, "address": address}
    with timezone.override(home_zone()):
        return render(request, "services/links.html", context)

"""A client is removed, by the owner alone and after a look at what goes and what stays."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from clients.access import Role, allow
from clients.models import Client
from services.removing import remove_client as remove


@require_http_methods(["GET", "HEAD", "POST"])
@allow(frozenset({Role.OWNER}))
def remove_client(request, client_id):
    """Show what removing a client takes away, and do so when it is confirmed."""
    client = get_object_or_404(Client, pk=client_id)
    if request.method != "POST":
        return render(request, "services/remove_client.html", {"client": client})
    try:
        remove(client, by=request.user, at=timezone.now())
    except ValidationError as error:
        messages.error(request, " ".join(error.messages))
    else:
        messages.success(request, _("The card names nobody any more."))
    return redirect("clients:client", client_id)

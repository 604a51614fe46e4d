"""The address in a letter at which letters are stopped: by a click of the mail program, or here."""

from django.http import Http404
from django.shortcuts import render
from django.utils import translation
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods

from services.dispatching import today_at_yard
from services.telling import NoSuchStop, client_of_stop, stop_letters
from services.views.letter import unseen


@csrf_exempt  # a mail program posts without a page before it; the token is signed
@require_http_methods(["GET", "HEAD", "POST"])
@unseen
def stop(request, token):
    """Ask whether letters are to be stopped, and stop them; a look alone stops nothing."""
    try:
        client = client_of_stop(token)
    except NoSuchStop as unknown:
        raise Http404 from unknown
    if request.method == "POST":
        stop_letters(client, on=today_at_yard())
    with translation.override(client.language):
        return render(request, "services/stop_letters.html", {"client": client})

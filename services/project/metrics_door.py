"""The door to the figures: shut unless a token is set, open to who sends it."""

from secrets import compare_digest

from django.conf import settings
from django.http import Http404, HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

WORD = "Bearer "


@require_safe
@never_cache
def metrics(request):
    """Tell the figures to who sends the token [RFC 6750]; without one there is nothing here."""
    if not settings.METRICS_TOKEN:
        raise Http404
    sent = request.headers.get("Authorization", "")
    if not compare_digest(sent.encode(), (WORD + settings.METRICS_TOKEN).encode()):
        refused = HttpResponse("The token is wrong.\n", content_type="text/plain", status=401)
        refused["WWW-Authenticate"] = WORD.strip()
        return refused
    from services.project.metrics import told

    return told()

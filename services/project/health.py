"""Two plain answers for whoever watches over the program."""

from django.db import Error, connection
from django.http import HttpResponse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe


@require_safe
@never_cache
def healthz(request):
    """Say that the process answers."""
    return HttpResponse("well\n", content_type="text/plain")


@require_safe
@never_cache
def readyz(request):
    """Say whether the database answers too, with 503 when it does not."""
    try:
        with connection.cursor() as cursor:
            cursor.execute("SELECT 1")
    except Error:
        return HttpResponse("no database\n", content_type="text/plain", status=503)
    return HttpResponse("ready\n", content_type="text/plain")

"""The phone's page of the field and its service worker: files, the same for everybody."""

from csp.decorators import csp_update
from django.http import HttpResponse
from django.views.decorators.cache import cache_control
from django.views.decorators.gzip import gzip_page
from django.views.decorators.http import require_safe

from services.field import shell

fresh = cache_control(no_cache=True)  # kept, but asked about each time


@require_safe
@fresh
@gzip_page
def field(request):
    """Show the page of the field; the phone fills it from what it holds."""
    allowed = csp_update({"style-src": [shell.style_source()]})
    return allowed(lambda request: HttpResponse(shell.page()))(request)


@require_safe
@fresh
@gzip_page
def worker(request):
    """Give a phone its service worker, which keeps the page for when there is no signal."""
    return HttpResponse(shell.worker(), content_type="text/javascript")

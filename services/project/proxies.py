"""Who sent a request, when proxies stand between."""

from django.conf import settings
from django.http import HttpRequest


def sender_of(request: HttpRequest) -> str:
    """Return the address of the sender as the outermost of our own proxies saw it.

    Each proxy adds the address it was asked from at the end of the header; what stands before the
    part our proxies wrote was written by the sender and proves nothing.
    """
    seen = [part.strip() for part in request.headers.get("X-Forwarded-For", "").split(",")]
    if settings.PROXIES and len(seen) >= settings.PROXIES and seen[-settings.PROXIES]:
        return seen[-settings.PROXIES]
    return request.META.get("REMOTE_ADDR", "")

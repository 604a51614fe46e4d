"""Reports of our own mistakes to Sentry, where SENTRY_DSN names one, without personal data.

Of an event only what is listed here leaves: kind and place of an error in our code.  What the
error says, the values it happened with, the request, the person and the way there all stay, for
any of them may hold a name, an address or a secret.  The log has them, found by the request's name.
"""

import logging
from typing import Any

from django.core.exceptions import ImproperlyConfigured

from services.project.logs import current_request

KEPT = ("event_id", "timestamp", "platform", "level", "logger", "release", "sdk")
KEPT_OF_FRAME = ("module", "function", "lineno", "in_app")


def report_errors(dsn: str, transport: Any = None) -> None:
    """Begin to report; raise ImproperlyConfigured where that cannot be.

    transport: Sentry's class that sends reports, the ordinary one without it
    """
    try:
        import sentry_sdk
        from sentry_sdk.integrations.celery import CeleryIntegration
        from sentry_sdk.integrations.django import DjangoIntegration
        from sentry_sdk.integrations.logging import LoggingIntegration
    except ImportError as error:
        raise ImproperlyConfigured("SENTRY_DSN needs the package sentry-sdk.") from error
    try:
        sentry_sdk.init(
            dsn=dsn,
            transport=transport,
            before_send=bare,
            include_local_variables=False,
            include_source_context=False,
            max_request_body_size="never",
            max_breadcrumbs=0,
            auto_session_tracking=False,
            send_client_reports=False,
            server_name="duskbook",
            default_integrations=False,
            auto_enabling_integrations=False,
            integrations=[
                DjangoIntegration(middleware_spans=False, signals_spans=False),
                CeleryIntegration(),
                LoggingIntegration(level=None, event_level=logging.ERROR),
            ],
        )
    except sentry_sdk.utils.BadDsn as error:
        raise ImproperlyConfigured(f"SENTRY_DSN is no address of Sentry: {error}.") from error


def bare(event: Any, hint: object) -> Any:
    """Return an event with nothing in it but what is listed above."""
    told = {name: event[name] for name in KEPT if name in event}
    # The words of a log line as they stand in our code; what was put into them stays here.
    if isinstance(message := event.get("logentry", {}).get("message"), str):
        told["message"] = message
    if causes := event.get("exception", {}).get("values"):
        told["exception"] = {"values": [bare_cause(each) for each in causes]}
    request = current_request.get()
    told["tags"] = {"request": request.identity} if request else {}
    return told


def bare_cause(cause: Any) -> dict[str, Any]:
    """Return of an exception its kind and where it was raised."""
    frames = (cause.get("stacktrace") or {}).get("frames", [])
    bare_frames = [{key: each.get(key) for key in KEPT_OF_FRAME} for each in frames]
    told = {key: cause.get(key) for key in ("type", "module", "mechanism")}
    told["mechanism"] = {"type": "generic", "handled": False}
    return told | {"stacktrace": {"frames": bare_frames}}

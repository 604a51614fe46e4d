"""Logs as JSON lines, each with the request and the user it belongs to."""

import json
import logging
import uuid
from contextvars import ContextVar
from datetime import UTC, datetime

current_request = ContextVar("current_request", default=None)
ORDINARY = {*vars(logging.makeLogRecord({})), "message", "asctime", "request", "taskName"}


class RequestIdentity:
    """Gives each request a name of its own, which its log lines and its answer carry."""

    def __init__(self, get_response):
        self.get_response = get_response

    def __call__(self, request):
        request.identity = uuid.uuid4().hex
        # It stays until the next one: Django logs a refusal after all middleware has returned.
        current_request.set(request)
        response = self.get_response(request)
        response.headers["X-Request-ID"] = request.identity
        return response


class JsonLines(logging.Formatter):
    """One line of JSON a record; what the caller passed as `extra` stands beside the message."""

    def format(self, record):
        line = {
            "at": datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds"),
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": record.getMessage(),
            **_request_facts(current_request.get()),
            **{name: value for name, value in vars(record).items() if name not in ORDINARY},
        }
        if record.exc_info:
            line["trace"] = self.formatException(record.exc_info)
        return json.dumps(line, default=str, ensure_ascii=False)


def _request_facts(request):
    if request is None:
        return {}
    # The user is looked at only when something else has loaded it: logging asks no questions.
    user = getattr(request, "_cached_user", None)
    return {"request": request.identity, "user": getattr(user, "pk", None)}

"""Logs, each line with the request or the job it belongs to: as JSON, or plain for a person.

Secrets that stand in an address are struck out wherever a line tells them.
"""

import json
import logging
import re
import uuid
from contextvars import ContextVar
from datetime import UTC, datetime
from typing import Any

from celery import current_app

current_request: ContextVar[Any] = ContextVar("current_request", default=None)
ORDINARY = {*vars(logging.makeLogRecord({})), "message", "asctime", "request", "taskName"}
# Links of clients, calendars of crews, codes that enrol a phone: who has the address has the door.
SECRET_ADDRESS = re.compile(r"(/c/(?:stop/)?|/feeds/|/field/enrol/)[^/\s\"'?\\]+")


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
            "at": moment_of(record),
            "level": record.levelname.lower(),
            "logger": record.name,
            "message": record.getMessage(),
            **belongs_to(),
            **told_beside(record),
        }
        if record.exc_info:
            line["trace"] = self.formatException(record.exc_info)
        return without_secrets(json.dumps(line, default=str, ensure_ascii=False))


class PlainLines(logging.Formatter):
    """One line a record for a person to read; a trace follows on lines of its own."""

    def format(self, record):
        facts = {**belongs_to(), **told_beside(record)}
        beside = ", ".join(f"{name} {on_one_line(str(value))}" for name, value in facts.items())
        line = f"{moment_of(record)} {record.levelname} {record.name}: "
        line += on_one_line(record.getMessage()) + (f" ({beside})" if beside else "")
        if record.exc_info:
            line += "\n" + self.formatException(record.exc_info)
        return without_secrets(line)


def moment_of(record):
    """Return when something was logged, in UTC as ISO 8601 has it."""
    return datetime.fromtimestamp(record.created, UTC).isoformat(timespec="milliseconds")


def told_beside(record):
    """Return what the caller passed beside the message."""
    return {name: value for name, value in vars(record).items() if name not in ORDINARY}


def without_secrets(line):
    """Return a line without the secrets that stand in addresses.

    >>> without_secrets("Gone: /c/3kVx-secret")
    'Gone: /c/…'
    """
    return SECRET_ADDRESS.sub(r"\1…", line)


def on_one_line(text):
    """Return a text without signs that would begin another line or steer a terminal.

    >>> on_one_line("Refused: a" + chr(10) + "b")
    'Refused: a\\\\nb'
    """
    return "".join(
        sign if sign.isprintable() else sign.encode("unicode_escape").decode() for sign in text
    )


def belongs_to():
    """Return the request and its user, or the task of a worker, that a line belongs to."""
    if task := current_app.current_task:
        return {"task": task.name, "job": task.request.id}
    request = current_request.get()
    if request is None:
        return {}
    # The user is looked at only when something else has loaded it: logging asks no questions.
    user = getattr(request, "_cached_user", None)
    return {"request": request.identity, "user": getattr(user, "pk", None)}

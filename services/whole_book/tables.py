"""Every table of the business as CSV and as JSON, column by column, in bounded memory."""

import json
from collections.abc import Iterator
from datetime import date, datetime, time
from decimal import Decimal
from typing import Any

from django.apps import apps
from django.contrib.auth import get_user_model
from django.db import models

from services.sheets.spreadsheet import csv_lines

AT_A_TIME = 500
APPS = ("clients", "treatments", "services")
# What is no fact of the business, or is told in another way.
LEFT_OUT = {
    "treatments.journalentry": "told as journal.jsonl, which can be checked",
    "services.bringing": "work in hand",
    "services.bookexport": "work in hand",
    "services.planning": "work in hand",
    "services.askedpackage": "work in hand",
    "services.reply": "answers kept for requests that are repeated",
    "services.packet": "what a phone was sent, made from the other tables",
    "services.packet_visits": "the same",
    "services.roadway": "made again by asking a road server",
    "services.hourlyforecast": "another's forecasts, a few days old",
    "services.forecastpoint": "asked again of the weather service",
    "services.forecastcell": "asked again of the weather service",
    "services.clientlink": "opens doors by its digest",
    "services.crewfeed": "opens doors by its digest",
    "services.feedentry": "told to calendars",
    "services.device": "opens doors by its digest",
    "services.programkey": "opens doors by its digest",
    "services.authenticator": "opens doors by its seed",
    "services.recoverycode": "opens doors by its digest",
    "services.pulse": "tells of workers, not of the business",
    "services.check": "found anew by a check",
    "services.hook": "of no use in another book, whose secrets differ",
}
PERSON = ("id", "username", "first_name", "last_name", "email", "is_active", "last_login")


def tables() -> Iterator[tuple[str, models.QuerySet, list[str]]]:
    """Yield name, rows and columns of each table that is taken along."""
    people: Any = get_user_model()._default_manager
    yield "people", people.order_by("pk"), list(PERSON)
    for app in APPS:
        for model in apps.get_app_config(app).get_models(include_auto_created=True):
            if model._meta.label_lower in LEFT_OUT:
                continue
            columns = [
                field.attname
                for field in model._meta.concrete_fields
                if not isinstance(field, models.BinaryField)  # a file of its own
            ]
            yield model._meta.label_lower.replace(".", "-"), rows_of(model), columns


def rows_of(model: type[models.Model]) -> models.QuerySet:
    """Return all rows of a model in the order of their ids."""
    return model._base_manager.order_by("pk")


def csv_of(rows: models.QuerySet, columns: list[str]) -> Iterator[bytes]:
    """Yield a table as CSV."""
    found = rows.values_list(*columns).iterator(AT_A_TIME)
    for line in csv_lines(columns, ([_cell(value) for value in row] for row in found)):
        yield line.encode()


def json_of(rows: models.QuerySet, columns: list[str]) -> Iterator[bytes]:
    """Yield a table as a JSON array, a row a line; amounts, days and moments are texts."""
    yield b"["
    for place, row in enumerate(rows.values(*columns).iterator(AT_A_TIME)):
        told = {name: _json(value) for name, value in row.items()}
        yield (("," if place else "") + "\n" + json.dumps(told, ensure_ascii=False)).encode()
    yield b"\n]\n"


def _cell(value: Any) -> Any:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | dict):
        return json.dumps(value, ensure_ascii=False)
    return value if isinstance(value, int | Decimal) or value is None else _text(value)


def _json(value: Any) -> Any:
    plain = value is None or isinstance(value, bool | int | str | list | dict)
    return value if plain else _text(value)


def _text(value: Any) -> str:
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    return str(value)

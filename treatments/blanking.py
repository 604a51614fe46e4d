"""What of a record is blanked when it is disposed of after its time, and what stays.

What stays is what others stand on: its number, the planting, product, pest, lot and people by their
ids, days and amounts, so that ledger and journal still add up.
"""

from typing import Any

from django.apps import apps
from django.db import models

KEPT_TEXTS = {"time_zone", "jurisdiction", "rate_basis", "product_unit"}
KEPT_FOR_GOOD = {"event_id"}  # a report that is sent once more is known even then
DISPOSED = "Disposed of after its time."  # stands for the reason of an amendment, which must be one


def blanks() -> dict[str, Any]:
    """Return the columns of a record that are blanked, each with what it holds then."""
    found: dict[str, Any] = {}
    for field in apps.get_model("treatments", "ApplicationRecord")._meta.concrete_fields:
        column = str(field.column)
        if field.is_relation or column in KEPT_FOR_GOOD | KEPT_TEXTS:
            continue
        if isinstance(field, models.JSONField):
            found[column] = []
        elif field.null:
            found[column] = None
        elif isinstance(field, (models.CharField, models.TextField)):
            found[column] = ""
    return found


def is_blanked(vendor: str, columns: list[str]) -> str:
    """Return the SQL that says that a change of a record does nothing but blank it."""
    blanked = blanks()
    same = "IS" if vendor == "sqlite" else "IS NOT DISTINCT FROM"
    return " AND ".join(
        _is_blank(vendor, column, blanked[column])
        if column in blanked
        else f"NEW.{column} {same} OLD.{column}"
        for column in columns
    )


def _is_blank(vendor: str, column: str, blank: Any) -> str:
    if blank is None:
        return f"NEW.{column} IS NULL"
    if blank == []:
        return f"NEW.{column}{'' if vendor == 'sqlite' else '::text'} = '[]'"
    if column == "amendment_reason":
        return f"NEW.{column} IN ('', '{DISPOSED}')"
    return f"NEW.{column} = ''"

"""Reads records back: with their history, and with what their rules still ask for."""

from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from treatments.models import ApplicationRecord
from treatments.recording.amending import columns_of
from treatments.recording.clocks import done_there, rules_of
from treatments.recording.fields import answers_of, circumstances_of, unit_of
from treatments.rulebook import NOTHING, Confirmed
from treatments.rules.records import NeededField, missing_fields


@dataclass(frozen=True, slots=True)
class Difference:
    """One column that an amendment changed."""

    column: str
    name: str
    before: Any
    after: Any


@dataclass(frozen=True, slots=True)
class Revision:
    """A record in the row from the first to the current one, and what it changed."""

    record: ApplicationRecord
    differences: tuple[Difference, ...]


def history_of(record: ApplicationRecord) -> list[Revision]:
    """Return the first record, each that amended it, and last the one that stands now."""
    row = [*record.earlier(), record, *_later(record)]
    return [Revision(row[0], ())] + [
        Revision(after, differences(before, after)) for before, after in pairwise(row)
    ]


def current_of(record: ApplicationRecord) -> ApplicationRecord:
    """Return the record that stands in place of this one now, which may be itself."""
    return [record, *_later(record)][-1]


def _later(record: ApplicationRecord) -> list[ApplicationRecord]:
    row = []
    while newer := ApplicationRecord.objects.filter(amends=record).first():
        row.append(newer)
        record = newer
    return row


def differences(before: ApplicationRecord, after: ApplicationRecord) -> tuple[Difference, ...]:
    """Return the columns in which one record differs from the one it amends."""
    old = columns_of(before) | {"void": before.void}
    new = columns_of(after) | {"void": after.void}
    return tuple(
        Difference(column, str(_name(column)), old[column], new[column])
        for column in old
        if old[column] != new[column]
    )


def with_unit(record: ApplicationRecord, column: str, shown: str) -> str:
    """Return what is shown of an amount with what it is counted in; all else as it is."""
    return f"{shown} {unit_of(record, column)}".strip() if shown else shown


def _name(column: str) -> Any:
    return getattr(ApplicationRecord._meta.get_field(column), "verbose_name", column)


def what_is_missing(record: ApplicationRecord, confirmed: Confirmed = NOTHING) -> list[NeededField]:
    """Return the fields that the rules of its place ask for and that a record leaves blank."""
    return missing_fields(
        answers_of(record),
        record.jurisdiction,
        done_there(record).date(),
        circumstances_of(record),
        rules_of(record, confirmed),
    )

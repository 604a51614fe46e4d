"""What became of an event, and how it is told to the phone in both languages."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.core.exceptions import NON_FIELD_ERRORS
from django.core.exceptions import ValidationError as RuleBroken
from django.utils import translation

from services.models import FieldEvent
from treatments.models import ApplicationRecord, JournalEntry
from treatments.recording.flagging import Flag
from treatments.rules.journal import RECORD, entry_id_of
from treatments.saying import say_flag

Told = dict[str, Any]
# Which field of a body puts right what an action asks for.
FIELD_FOR = {
    "no_applicator": "applicator",
    "no_reports": "reports",
    "no_product": "reports",
    "no_rate": "reports",
    "ends_first": "started_at",
}


@dataclass(frozen=True, slots=True)
class Missing:
    """A field that must be put right before there is a record."""

    field: str
    code: str
    said: str


class NeedsInput(ValueError):
    """An event cannot be a record yet; it is kept as a draft."""

    def __init__(self, missing: Iterable[Missing]):
        self.missing = tuple(missing)
        super().__init__(", ".join(each.field for each in self.missing))


@dataclass(frozen=True, slots=True)
class Outcome:
    """What became of an event.

    flags: what is odd beside the flags of its records
    """

    records: tuple[ApplicationRecord, ...] = ()
    flags: tuple[Flag, ...] = ()

    def all_flags(self) -> list[Flag]:
        """Return what the office will look at, each thing once."""
        found = [*self.flags, *(flag for record in self.records for flag in record.flags)]
        once = {(flag["code"], str(flag["facts"])): flag for flag in found}
        return list(once.values())


def missing_of(broken: RuleBroken) -> list[Missing]:
    """Return what an action asks for as fields of the body."""
    if hasattr(broken, "error_dict"):
        return [
            Missing("" if field == NON_FIELD_ERRORS else field, each.code or "invalid", said)
            for field, errors in broken.error_dict.items()
            for each in errors
            for said in each.messages
        ]
    return [
        Missing(FIELD_FOR.get(each.code or "", ""), each.code or "invalid", said)
        for each in broken.error_list
        for said in each.messages
    ]


def told_flag(flag: Flag) -> Told:
    """Return a flag in both languages."""
    told = {"code": flag["code"]}
    for language, _name in settings.LANGUAGES:
        with translation.override(language):
            told[language] = say_flag(flag)
    return told


def reply_to(event_id: str, result: str, outcome: Outcome, missing: Iterable[Missing] = ()) -> Told:
    """Return what a phone is told of an event."""
    return {
        "event_id": event_id,
        "result": result,
        "records": [receipt_of(record) for record in outcome.records],
        "flags": [told_flag(flag) for flag in outcome.all_flags()],
        "missing": [
            {"field": each.field, "code": each.code, "said": each.said} for each in missing
        ],
    }


def receipt_of(record: ApplicationRecord) -> Told:
    """Return a record's number, and its place and hash in the journal."""
    entry = JournalEntry.objects.get(entry_id=entry_id_of(RECORD, record.number))
    return {"number": record.number, "seq": entry.seq, "leaf_hash": entry.leaf_hash}


def refusal_of(event_id: str, code: str, detail: str, status: int) -> Told:
    """Return why an event was not taken, with its problem document."""
    problem = {"type": "about:blank", "title": code, "status": status, "detail": detail}
    told = reply_to(event_id, FieldEvent.Result.REFUSED, Outcome())
    return told | {"problem": problem}

"""A package of records for an inspector: paper, tables, proofs, and how to check them.

It is written as a stream: of the ZIP never more than one member's chunk is held, the PDF aside.
"""

import json
import zipfile
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from importlib import import_module
from pathlib import Path
from typing import IO, Any, cast

from django.conf import settings
from django.contrib.auth.models import User
from django.db import transaction
from django.utils import translation
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop

from services.journaling import journal_package
from services.sheets.spreadsheet import csv_lines
from treatments import chain
from treatments.checkpointing import signed
from treatments.models import ApplicationRecord, JournalEntry
from treatments.recording import fields_of, history_of
from treatments.rules.journal import RECORD, entry_id_of
from treatments.rules.records import FIELDS

FORMAT, VERSION = "duskbook-proofs", 1
VERIFIERS = ("standalone_verify.py", "standalone_package.py")
CHECKERS = Path(settings.CHECKOUT) / "tests" / "reference"
HASHED = ("records.pdf", "checkpoint.txt")  # members of one piece
BESIDE = ("number", "amends", "void", "amendment_reason", "received_at", "lot_number")
A_SECOND_ON_EARTH = (1980, 1, 1, 0, 0, 0)  # the first that a ZIP can tell; the same for all

CONTENTS = gettext_noop(
    "records.pdf     the records as paper, with an index and bookmarks\n"
    "records.csv     the same as a table, a line a record\n"
    "records.json    the same for programs\n"
    "proofs.jsonl    the entry of the journal of each record, and what proves that it is among "
    "the entries of the checkpoint\n"
    "checkpoint.txt  size and root of the journal of this business"
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a package holds.

    with_notes: whether the business's own notes may be read, which no inspector's may
    by: who takes it along, as the journal names them
    """

    records: Sequence[ApplicationRecord]
    language: str
    now: datetime
    with_notes: bool
    by: User | None = None


class Pipe:
    """A file that is only written to and hands over what was written so far."""

    def __init__(self) -> None:
        self.chunks: list[bytes] = []

    def write(self, data: bytes) -> int:
        """Take some bytes."""
        self.chunks.append(bytes(data))
        return len(data)

    def flush(self) -> None:
        """Have nothing to do: nothing is held back."""

    def taken(self) -> bytes:
        """Return what came since it was last asked, and forget it."""
        data, self.chunks = b"".join(self.chunks), []
        return data


def package(wanted: Wanted) -> Iterator[bytes]:
    """Yield a ZIP of records in pieces; what is told of records is the same each time.

    Records are told with all that amend them.  Once it was taken whole, the journal keeps the
    hashes of its paper and its checkpoint.
    """
    papers: dict[str, bytes] = {}
    pipe = Pipe()
    with zipfile.ZipFile(cast(IO[bytes], pipe), "w", zipfile.ZIP_DEFLATED) as archive:
        for name, pieces in _members(wanted):
            info = zipfile.ZipInfo(name, A_SECOND_ON_EARTH)
            info.compress_type = zipfile.ZIP_DEFLATED
            with archive.open(info, "w") as member:
                for piece in pieces:
                    if name in HASHED:
                        papers[name] = piece
                    member.write(piece)
                    yield pipe.taken()
    yield pipe.taken()
    with transaction.atomic():
        journal_package(papers, wanted.by, wanted.now)


def _members(wanted: Wanted) -> Iterator[tuple[str, Iterable[bytes]]]:
    rows = _with_amendments(wanted.records)
    head = chain.head()
    yield "README.txt", [_readme(wanted, len(rows)).encode()]
    # Drawing stands above the actions, so it is reached only when a package needs it.
    printing = import_module("services.printing.records")
    yield (
        "records.pdf",
        [
            printing.records_pdf(
                wanted.records, language=wanted.language, now=wanted.now, with_index=True
            )
        ],
    )
    yield "records.csv", (line.encode() for line in csv_lines(_heads(), map(_row, rows)))
    yield "records.json", (line.encode() for line in _json(rows))
    if head is not None:
        checkpoint = signed(head)
        yield "checkpoint.txt", [checkpoint.encode()]
        yield "proofs.jsonl", _proofs(rows, head.size, checkpoint, wanted)
    for name in VERIFIERS:
        yield name, [(CHECKERS / name).read_bytes()]


def _with_amendments(records: Iterable[ApplicationRecord]) -> list[ApplicationRecord]:
    found = {each.record.pk: each.record for one in records for each in history_of(one)}
    return sorted(found.values(), key=lambda record: record.number)


def _heads() -> list[str]:
    return [*BESIDE, *FIELDS]


def _row(record: ApplicationRecord) -> list[object]:
    told = fields_of(record)
    return [*_beside(record).values(), *(told.get(name, "") for name in FIELDS)]


def _beside(record: ApplicationRecord) -> dict[str, object]:
    return {
        "number": record.number,
        "amends": record.amends.number if record.amends else None,
        "void": "yes" if record.void else "no",
        "amendment_reason": record.amendment_reason,
        "received_at": record.received_at.isoformat(),
        "lot_number": record.lot_number,
    }


def _json(records: Iterable[ApplicationRecord]) -> Iterator[str]:
    yield "["
    for place, record in enumerate(records):
        told = _beside(record) | dict(fields_of(record))
        yield ("," if place else "") + "\n" + json.dumps(told, ensure_ascii=False)
    yield "\n]\n"


def _proofs(
    records: Iterable[ApplicationRecord], size: int, checkpoint: str, wanted: Wanted
) -> Iterator[bytes]:
    """Yield the checkpoint and then, a line a record, its entry and what proves it [RFC9162]."""
    yield _line(format=FORMAT, version=VERSION, checkpoint=checkpoint)
    for record in records:
        entry = JournalEntry.objects.filter(
            entry_id=entry_id_of(RECORD, record.number), seq__lt=size
        ).first()
        if entry is None:
            continue
        is_told = wanted.with_notes or not record.note
        yield _line(
            record=record.number,
            seq=entry.seq,
            entry_id=str(entry.entry_id),
            envelope=entry.envelope,
            body=entry.body if is_told else None,
            body_sha256=entry.body_sha256,
            proof=[each.hex() for each in chain.inclusion_proof_of(entry.seq, size)],
        )


def _line(**told: Any) -> bytes:
    return (json.dumps(told, ensure_ascii=False, separators=(",", ":")) + "\n").encode()


def _readme(wanted: Wanted, number: int) -> str:
    with translation.override(wanted.language):
        return _readme_spoken(wanted, number)


def _readme_spoken(wanted: Wanted, number: int) -> str:
    told = {"count": len(wanted.records), "rows": number, "at": f"{wanted.now:%Y-%m-%d %H:%M} UTC"}
    parts = [
        _(
            "Records of pesticide applications, packed %(at)s: %(count)s that were asked for, "
            "%(rows)s with all that amend them."
        ),
        _(CONTENTS),
        _("To check them without the business or its program, on any computer with Python 3:"),
        "    python3 standalone_package.py proofs.jsonl",
        _(
            "With a checkpoint of the same size that somebody else kept (it is printed on records "
            "and letters and mailed to the owner daily):"
        ),
        "    python3 standalone_package.py proofs.jsonl KEPT.txt",
        _(
            "standalone_verify.py checks a full export of the journal, which the owner can make. "
            "Where an entry has no body, it holds a note of the business that is not part of this "
            "look; its digest stands in the envelope all the same. Nothing in this package is an "
            "official form."
        ),
    ]
    return "\n\n".join(parts) % told + "\n"

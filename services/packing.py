"""A package of records for an inspector: paper, tables, proofs, and how to check them.

It is written as a stream: however many records there are, no more than one paper of some hundred
of them is held at a time.
"""

import json
import zipfile
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
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

from services.journaling import hashed, journal_package
from services.paper_signing import signed_paper
from services.sheets.spreadsheet import csv_lines
from treatments import chain
from treatments.checkpointing import signed
from treatments.models import ApplicationRecord, JournalEntry
from treatments.recording import fields_of
from treatments.rules.journal import RECORD, entry_id_of
from treatments.rules.records import FIELDS

Links = Iterable[tuple[int, int]]

FORMAT, VERSION = "duskbook-proofs", 1
VERIFIERS = ("standalone_verify.py", "standalone_package.py")
CHECKERS = Path(settings.CHECKOUT) / "tests" / "reference"
CHECKPOINT = "checkpoint.txt"
ON_ONE_PAPER = 200  # records, some four megabytes; our own choice
BESIDE = (
    "number",
    "amends",
    "void",
    "amendment_reason",
    "received_at",
    "lot_number",
    "signed_by",
    "signed_at",
)
A_SECOND_ON_EARTH = (1980, 1, 1, 0, 0, 0)  # the first that a ZIP can tell; the same for all

CONTENTS = gettext_noop(
    "records.pdf     the records as paper, with an index and bookmarks; of many records several "
    "papers, named by their numbers\n"
    "records.csv     the same as a table, a line a record\n"
    "records.json    the same for programs\n"
    "proofs.jsonl    the entry of the journal of each record, and what proves that it is among "
    "the entries of the checkpoint\n"
    "checkpoint.txt  size and root of the journal of this business"
)


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a package holds.

    numbers: of the records that are asked for
    with_notes: whether the business's own notes may be read, which no inspector's may
    by: who takes it along, as the journal names them
    drawn: the folder of papers that were drawn before, by `draw_papers`
    """

    numbers: Sequence[int]
    language: str
    now: datetime
    with_notes: bool
    by: User | None = None
    drawn: Path | None = None


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
    papers: list[dict[str, object]] = []
    pipe = Pipe()
    with zipfile.ZipFile(cast(IO[bytes], pipe), "w", zipfile.ZIP_DEFLATED) as archive:
        for name, pieces in members(wanted):
            info = zipfile.ZipInfo(name, A_SECOND_ON_EARTH)
            info.compress_type = zipfile.ZIP_DEFLATED
            with archive.open(info, "w") as member:
                for piece in pieces:
                    if name == CHECKPOINT or name.endswith(".pdf"):  # members of one piece
                        papers.append(hashed(name, piece))
                    member.write(piece)
                    yield pipe.taken()
    yield pipe.taken()
    with transaction.atomic():
        journal_package(papers, wanted.by, wanted.now)


def members(wanted: Wanted) -> Iterator[tuple[str, Iterable[bytes]]]:
    """Yield the files of a package by name, each made when its pieces are asked for."""
    chains = chains_of(wanted.numbers)
    rows = sorted(number for row in chains for number in row)
    head = chain.head()
    yield "README.txt", [_readme(wanted, len(rows)).encode()]
    yield from _papers([row[0] for row in chains], wanted)
    yield "records.csv", (line.encode() for line in csv_lines(_heads(), map(_row, _read(rows))))
    yield "records.json", (line.encode() for line in _json(_read(rows)))
    if head is not None:
        checkpoint = signed(head)
        yield CHECKPOINT, [checkpoint.encode()]
        yield "proofs.jsonl", _proofs(_read(rows), head.size, checkpoint, wanted)
    for name in VERIFIERS:
        yield name, [(CHECKERS / name).read_bytes()]


def chains_of(numbers: Iterable[int]) -> list[list[int]]:
    """Return the numbers of records with all that amend them, each row from the first to the last.

    A row of which several records are asked for comes once.
    """
    amended = ApplicationRecord.objects.exclude(amends=None).values_list("number", "amends__number")
    numbers = set(numbers)
    older = _links(numbers, lambda some: amended.filter(number__in=some))
    firsts = {_end_of(number, older) for number in numbers}
    newer = _links(
        firsts,
        lambda some: ((old, new) for new, old in amended.filter(amends__number__in=some)),
    )
    return [_row_from(first, newer) for first in sorted(firsts)]


def _links(numbers: Iterable[int], found: Callable[[list[int]], Links]) -> dict[int, int]:
    """Follow what leads from records to others, as far as it goes; only these are read.

    found: tells to which records some lead, from one number to the next
    """
    links: dict[int, int] = {}
    wanted = sorted(numbers)
    while wanted:
        new = dict(pair for part in _parts(wanted) for pair in found(list(part)))
        links |= new
        wanted = sorted(set(new.values()) - links.keys())
    return links


def _end_of(number: int, links: Mapping[int, int]) -> int:
    while number in links:
        number = links[number]
    return number


def _row_from(first: int, newer: Mapping[int, int]) -> list[int]:
    row = [first]
    while row[-1] in newer:
        row.append(newer[row[-1]])
    return row


def _read(numbers: Sequence[int]) -> Iterator[ApplicationRecord]:
    """Yield records in the order of their numbers, some hundred at a time."""
    for part in _parts(numbers):
        found = ApplicationRecord.objects.filter(number__in=part).select_related("amends", "signed")
        yield from found.order_by("number")


def _parts(numbers: Sequence[int]) -> list[Sequence[int]]:
    return [numbers[start : start + ON_ONE_PAPER] for start in range(0, len(numbers), ON_ONE_PAPER)]


def _papers(firsts: Sequence[int], wanted: Wanted) -> Iterator[tuple[str, Iterable[bytes]]]:
    """Yield the papers, each with an index of its own, and drawn when its turn comes."""
    parts = _parts(firsts)
    for part in parts:
        name = "records.pdf" if len(parts) == 1 else _name_of(part)
        yield name, _drawn(part, wanted)


def _drawn(part: Sequence[int], wanted: Wanted) -> Iterator[bytes]:
    yield _drawn_before(part, wanted) or _paper(part, wanted)


def _name_of(part: Sequence[int]) -> str:
    return f"records-{part[0]}-to-{part[-1]}.pdf"


def _paper(part: Sequence[int], wanted: Wanted) -> bytes:
    # Drawing stands above the actions, so it is reached only when a package needs it.
    printing = import_module("services.printing.records")
    paper = printing.records_pdf(
        _read(part), language=wanted.language, now=wanted.now, with_index=True
    )
    return signed_paper(paper)


def _drawn_before(part: Sequence[int], wanted: Wanted) -> bytes | None:
    file = wanted.drawn / _name_of(part) if wanted.drawn else None
    return file.read_bytes() if file and file.exists() else None


def draw_papers(wanted: Wanted) -> Iterator[int]:
    """Draw the papers of a package into its folder, and yield how many of its parts are drawn.

    What was drawn before stays as it is, so that a worker goes on where another ended.
    """
    if wanted.drawn is None:
        raise ValueError("Papers are drawn into a folder.")
    for done, part in enumerate(_parts([row[0] for row in chains_of(wanted.numbers)]), start=1):
        if _drawn_before(part, wanted) is None:
            file = wanted.drawn / _name_of(part)
            begun = file.with_suffix(".begun")
            begun.write_bytes(_paper(part, wanted))
            begun.replace(file)
        yield done


def parts_of(wanted: Wanted) -> int:
    """Return of how many papers a package consists, at most: records in a row share one."""
    return len(_parts(wanted.numbers))


def _heads() -> list[str]:
    return [*BESIDE, *FIELDS]


def _row(record: ApplicationRecord) -> list[object]:
    told = fields_of(record)
    return [*_beside(record).values(), *(told.get(name, "") for name in FIELDS)]


def _beside(record: ApplicationRecord) -> dict[str, object]:
    signed = getattr(record, "signed", None)
    return {
        "number": record.number,
        "amends": record.amends.number if record.amends else None,
        "void": "yes" if record.void else "no",
        "amendment_reason": record.amendment_reason,
        "received_at": record.received_at.isoformat(),
        "lot_number": record.lot_number,
        "signed_by": f"{signed.signer_name}, {signed.certificate_number}" if signed else "",
        "signed_at": signed.signed_at.isoformat() if signed else "",
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
    told = {"count": len(wanted.numbers), "rows": number, "at": f"{wanted.now:%Y-%m-%d %H:%M} UTC"}
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

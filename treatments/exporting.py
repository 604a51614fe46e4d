"""The journal as a file that anybody can check: JSON, a line each, UTF-8, lines ended by \\n.

The first line says what it is: `format` "duskbook-journal", `version` 1, `origin`, `size` (how
many entries), `root` (hexadecimal digits).  Then comes a line for each entry from 0 on: `seq`,
`entry_id`, `envelope`, `leaf_hash`, `subtree_hash`, `body`, `body_sha256`, where envelope and body
are texts that hold canonical JSON, to be hashed as they stand.  Last comes a line for each kept
checkpoint: `checkpoint`, its text.  DEVELOPERS.md tells how all of it is hashed.
"""

import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from treatments import chain
from treatments.models import Checkpoint, JournalEntry
from treatments.rules.journal import Entry

FORMAT, VERSION = "duskbook-journal", 1
CHUNK = 1_000


class NoExport(ValueError):
    """A file is no export of a journal."""


def export_lines() -> Iterator[str]:
    """Yield the lines of an export of the journal as it stands, in bounded memory."""
    head = chain.head()
    size = head.size if head else 0
    yield _line(
        format=FORMAT,
        version=VERSION,
        origin=head.origin if head else "",
        size=size,
        root=head.root.hex() if head else "",
    )
    for entry in kept_entries(size):
        yield _line(**entry._asdict())
    for text in Checkpoint.objects.filter(size__lte=size).values_list("text", flat=True):
        yield _line(checkpoint=text)


def kept_entries(size: int) -> Iterator[Entry]:
    """Yield the entries at the first places of the journal in their order."""
    rows = (
        JournalEntry.objects.filter(seq__lt=size)
        .order_by("seq")
        .values_list(
            "seq", "entry_id", "envelope", "leaf_hash", "subtree_hash", "body", "body_sha256"
        )
    )
    for seq, entry_id, *others in rows.iterator(chunk_size=CHUNK):
        yield Entry(seq, str(entry_id), *others)  # type: ignore[arg-type]  # as the columns say


def read_lines(path: Path) -> Iterator[dict[str, Any]]:
    """Yield what the lines of an export say; raise NoExport for a line that says nothing."""
    with path.open(encoding="utf-8", newline="\n") as lines:
        for number, line in enumerate(_decoded(lines), 1):
            try:
                told = json.loads(line)
            except (ValueError, RecursionError) as error:
                raise NoExport(f"Line {number} is no JSON.") from error
            if not isinstance(told, dict):
                raise NoExport(f"Line {number} is no object.")
            yield told


def _decoded(lines: Iterable[str]) -> Iterator[str]:
    try:
        yield from lines
    except UnicodeDecodeError as error:
        raise NoExport("The file is not in UTF-8.") from error


def entry_of(told: dict[str, Any]) -> Entry:
    """Return the entry of a line; raise NoExport where a part of it is missing or of no use."""
    kinds = Entry.__annotations__
    if set(told) != set(kinds) or not all(_is_of(kinds[name], told[name]) for name in kinds):
        raise NoExport(f"The line of entry {told.get('seq', '?')} does not say what it should.")
    return Entry(**told)


def _is_of(kind: Any, value: object) -> bool:
    return isinstance(value, kind) and not isinstance(value, bool)


def _line(**told: Any) -> str:
    return json.dumps(told, ensure_ascii=False, separators=(",", ":")) + "\n"

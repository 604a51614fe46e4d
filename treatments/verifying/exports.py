"""Checks an exported journal, which needs no database."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from treatments.exporting import FORMAT, VERSION, NoExport, entry_of, read_lines
from treatments.rules.canonical import NotCanonical, parse
from treatments.rules.journal import Entry
from treatments.rules.journal_walk import Fault, Walk
from treatments.verifying.book import walk_entries
from treatments.verifying.notes import Notes
from treatments.verifying.verdict import Verdict


@dataclass(slots=True)
class FirstRead:
    """What must be known of a file before its entries are checked.

    amended: the ids of the entries that later ones amend
    """

    head: dict[str, Any]
    notes: list[str] = field(default_factory=list)
    amended: set[str] = field(default_factory=set)


def verify_export(path: Path, outside: Sequence[str] = ()) -> Verdict:
    """Check an exported journal; raise NoExport where the file is none.

    outside: texts of checkpoints that others kept
    """
    first = _read_first(path)
    verdict, places = Verdict(), dict[str, int]()
    notes = Notes([*first.notes, *outside])
    entries, walk = _entries(path, first.amended, places), Walk(places.get)
    walk_entries(entries, walk, notes, verdict)
    found = {"origin": walk.origin, "size": verdict.size, "root": verdict.root}
    if first.head != {"format": FORMAT, "version": VERSION, **found}:
        verdict.add([Fault("the first line does not tell what the entries give")])
    return verdict


def _read_first(path: Path) -> FirstRead:
    lines = read_lines(path)
    head = next(lines, {})
    if (head.get("format"), head.get("version")) != (FORMAT, VERSION):
        raise NoExport("This is no export of a journal.")
    first = FirstRead(head)
    for told in lines:
        if "checkpoint" in told:
            first.notes.append(str(told["checkpoint"]))
        elif amended := _amended_by(str(told.get("envelope"))):
            first.amended.add(amended)
    return first


def _amended_by(envelope: str) -> str:
    if '"amends":null' in envelope:
        return ""
    try:
        return str(parse(envelope)["amends"])
    except (NotCanonical, KeyError, TypeError):
        return ""


def _entries(path: Path, amended: set[str], places: dict[str, int]) -> Iterator[Entry]:
    lines = read_lines(path)
    next(lines)
    for told in lines:
        if "checkpoint" in told:
            continue
        entry = entry_of(told)
        if entry.entry_id in amended:
            places.setdefault(entry.entry_id, entry.seq)
        yield entry

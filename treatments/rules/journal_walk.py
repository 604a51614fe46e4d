"""Finds what was changed in a journal: a walk over its entries, each checked as it comes by.

The walk knows nothing but the entries and holds a few hashes, however long the journal is.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from treatments.rules.canonical import NotCanonical, entry_bytes, parse
from treatments.rules.checkpoints import Checkpoint, NoCheckpoint, read_checkpoint
from treatments.rules.journal import (
    RECORD_KINDS,
    VERSION,
    Entry,
    data_of,
    digest_of,
    entry_id_of,
    origin_of,
)
from treatments.rules.merkle import Frontier, leaf_hash, node_hash, trailing_ones

ENVELOPE_KEYS = frozenset(
    {"v", "seq", "kind", "entry_id", "amends", "actor", "recorded_at", "body_sha256"}
)


@dataclass(frozen=True, slots=True)
class Fault:
    """Something that is not as it was kept.

    seq: place of the entry, None where no entry is at fault; record: its number, where known
    """

    sentence: str
    seq: int | None = None
    record: int | None = None

    def say(self) -> str:
        """Return the fault on one line.

        >>> Fault("the body was changed", 3, 2).say()
        'entry 3, record 2: the body was changed'
        """
        entry = "" if self.seq is None else f"entry {self.seq}"
        record = "" if self.record is None else f"record {self.record}"
        where = ", ".join(part for part in (entry, record) if part)
        return f"{where}: {self.sentence}" if where else self.sentence


@dataclass(frozen=True, slots=True)
class Read:
    """What an entry says, as far as it can be read."""

    envelope: dict[str, Any]
    body: dict[str, Any]
    record: int | None


class Walk:
    """Checks entries in the order in which they are kept, from the first on.

    seq_of: tells the place of an entry by its id, None where there is none
    """

    def __init__(self, seq_of: Callable[[str], int | None]) -> None:
        self.seq_of = seq_of
        self.next_seq = 0
        self.next_record = 1
        self.is_whole = True
        self.origin = ""
        self.tree = Frontier()
        self._tops: list[str] = []
        self.read = Read({}, {}, None)

    def step(self, entry: Entry) -> list[Fault]:
        """Check one entry and go on to the next; return its faults, none where it is as kept."""
        self.read = self._read(entry)
        sentences = [
            *_of_envelope(entry, self.read.envelope),
            *self._of_leaf(entry),
            *_of_body(entry, self.read),
            *self._of_amends(entry),
        ]
        record = self.read.record
        faults = [*self._gap(entry), *(Fault(each, entry.seq, record) for each in sentences)]
        self._go_on(entry)
        return faults

    def _read(self, entry: Entry) -> Read:
        envelope, body = _object(entry.envelope), _object(entry.body or "")
        number = body.get("number") if envelope.get("kind") in RECORD_KINDS else None
        if entry.entry_id == str(entry_id_of("record", self.next_record)):
            number = self.next_record
        return Read(envelope, body, number if type(number) is int else None)

    def _gap(self, entry: Entry) -> Iterator[Fault]:
        if entry.seq == self.next_seq:
            return
        self.is_whole = False
        if entry.seq < self.next_seq:
            yield Fault("the entry stands twice or out of order", entry.seq, self.read.record)
            return
        later = self.read.record
        missing = self.next_record if later and later > self.next_record else None
        yield Fault("the entry is missing", self.next_seq, missing)
        if entry.seq > self.next_seq + 1:
            yield Fault("and so are the ones up to it", entry.seq - 1)

    def _of_leaf(self, entry: Entry) -> Iterator[str]:
        if leaf_hash(data_of(entry.envelope)).hex() != entry.leaf_hash:
            yield "the hash is not that of the envelope"
        is_next = self.is_whole and entry.seq == self.next_seq
        if is_next and self._top(entry) != entry.subtree_hash:
            yield "the hash over the entries before it does not fit"

    def _top(self, entry: Entry) -> str:
        """Return the root of the subtree that ends here, by the hashes as they are kept."""
        top = entry.leaf_hash
        for _ in range(trailing_ones(entry.seq)):
            top = _joined(self._tops.pop(), top)
        self._tops.append(entry.subtree_hash)
        return top

    def _of_amends(self, entry: Entry) -> Iterator[str]:
        envelope, body = self.read.envelope, self.read.body
        amends = envelope.get("amends")
        wrong = body.get("amends_number")
        if amends is None:
            if wrong is not None:
                yield f"the envelope names no entry, the body amends record {wrong}"
            return
        if envelope.get("kind") in RECORD_KINDS and amends != str(
            entry_id_of("record", wrong or 0)
        ):
            yield "what it amends is the entry of another record"
        earlier = self.seq_of(str(amends))
        if earlier is None or earlier >= entry.seq:
            yield "what it amends is no earlier entry"

    def _go_on(self, entry: Entry) -> None:
        leaf = leaf_hash(data_of(entry.envelope))
        if self.tree.size == 0:
            self.origin = origin_of(leaf.hex())
        self.tree.add(leaf)
        self.next_seq = max(self.next_seq, entry.seq + 1)
        if self.read.record is not None:
            self.next_record = max(self.next_record, self.read.record + 1)

    def head(self) -> Checkpoint:
        """Return size and root of what was walked."""
        return Checkpoint(self.origin, self.tree.size, self.tree.root())


def fault_of_checkpoint(text: str, walked: Checkpoint, sound_until: int) -> Fault | None:
    """Return what is wrong when a checkpoint is held against the entries it counts.

    walked: their head as it was found; sound_until: how many the checkpoint before it vouched for
    """
    try:
        told = read_checkpoint(text)
    except NoCheckpoint as error:
        return Fault(f"checkpoint after {walked.size} entries: {error}")
    if told.size > walked.size:
        return Fault(
            f"the checkpoint counts {told.size} entries, the journal has {walked.size}: "
            "the last are missing",
            walked.size,
        )
    if told.size < walked.size:
        return Fault(f"the checkpoint counts {told.size} entries, not {walked.size}", 0)
    if told.root != walked.root:
        return Fault(
            f"one of the entries {sound_until} to {walked.size - 1} is not what the checkpoint "
            f"after {walked.size} entries vouches for",
            sound_until,
        )
    if told.origin != walked.origin:
        return Fault(f"the checkpoint is one of {told.origin}, this is {walked.origin}", 0)
    return None


def _joined(left: str, right: str) -> str:
    try:
        return node_hash(bytes.fromhex(left), bytes.fromhex(right)).hex()
    except ValueError:
        return ""


def _object(text: str) -> dict[str, Any]:
    """Return what a text says, nothing where it cannot be read."""
    try:
        value = parse(text)
    except NotCanonical:
        return {}
    return value if isinstance(value, dict) else {}


def _is_canonical(text: str, value: dict[str, Any]) -> bool:
    try:
        return bool(value) and entry_bytes(value) == data_of(text)
    except NotCanonical:
        return False


def _of_envelope(entry: Entry, envelope: dict[str, Any]) -> Iterator[str]:
    if not _is_canonical(entry.envelope, envelope):
        yield "the envelope is not canonical"
        return
    if set(envelope) != ENVELOPE_KEYS or envelope["v"] != VERSION:
        yield "the envelope does not say what it should"
        return
    if (envelope["seq"], envelope["entry_id"]) != (entry.seq, entry.entry_id):
        yield "the envelope is that of another entry"


def _of_body(entry: Entry, read: Read) -> Iterator[str]:
    if entry.body is None:
        yield "the body is missing"
        return
    digest = digest_of(entry.body)
    if digest != read.envelope.get("body_sha256"):
        yield "the body is not the one of the envelope"
    elif not _is_canonical(entry.body, read.body) or not read.body.get("salt"):
        yield "the body is not canonical"
    if entry.body_sha256 != digest:
        yield "the digest beside the body is not its own"

"""Finds what was changed in a journal: a walk over its entries, each checked as it comes by.

The walk knows nothing but the entries and holds a few hashes, however long the journal is.  That
an entry is as it was kept is found in one go; what is wrong with another is looked for at leisure.
"""

import re
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from hashlib import sha256
from typing import Any, NamedTuple

from treatments.rules.canonical import NotCanonical, entry_bytes, parse, read_entry_text
from treatments.rules.checkpoints import Checkpoint, NoCheckpoint, read_checkpoint
from treatments.rules.journal import (
    DISPOSAL,
    RECORD_KINDS,
    VERSION,
    Entry,
    data_of,
    digest_of,
    entry_text_of,
    origin_of,
)
from treatments.rules.merkle import Frontier, leaf_hash, node_hash, trailing_ones

ENVELOPE_KEYS = frozenset(
    {"v", "seq", "kind", "entry_id", "amends", "actor", "recorded_at", "body_sha256"}
)
# The bytes that every envelope of this program has; what does not fit is read as JSON instead.
UUID_TEXT = "[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}"
ENVELOPE = re.compile(
    r'\{"actor":"(?:system|user:[0-9]+)"'
    rf',"amends":(?:null|"({UUID_TEXT})")'
    r',"body_sha256":"([0-9a-f]{64})"'
    rf',"entry_id":"({UUID_TEXT})"'
    r',"kind":"([a-z_]+)"'
    r',"recorded_at":"[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9:.]+Z"'
    r',"seq":(0|[1-9][0-9]{0,15}),"v":1\}'
)
NOT_READ: dict[str, Any] = {}
NO_FAULTS: Sequence["Fault"] = ()


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


class Read(NamedTuple):
    """What an entry says, as far as it was read."""

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
        self.is_sound = True
        self.origin = ""
        self.tree = Frontier()
        self.read = Read({}, {}, None)
        self.record_id = entry_text_of("record", 1)
        self._tops: list[str] = []
        self._without_body: dict[str, Fault] = {}
        self._is_without_leap = True

    def step(self, entry: Entry, amends: int | None = None) -> Sequence[Fault]:
        """Check one entry and go on to the next; return its faults, none where it is as kept.

        amends: which record this next one amends, 0 for none, where somebody has written its body
        again from the table of records and found the very same bytes; None where nobody has
        """
        if self.is_sound and self._is_as_kept(entry, amends):
            return NO_FAULTS
        return self._looked_at(entry)

    def _is_as_kept(self, entry: Entry, amends: int | None) -> bool:
        """Say whether an entry is beyond doubt as it was kept, and if so go on to the next."""
        seq, entry_id, envelope, leaf_digits, top_digits, body, digest = entry
        found = ENVELOPE.fullmatch(envelope)
        if found is None or seq != self.next_seq or body is None:
            return False
        amended, digest_told, id_told, kind, seq_told = found.groups()
        if (digest_told, id_told, int(seq_told)) != (digest, entry_id, seq):
            return False
        leaf = sha256(b"\0" + envelope.encode()).digest()
        if leaf.hex() != leaf_digits or sha256(data_of(body)).hexdigest() != digest:
            return False
        if amends is not None and entry_id == self.record_id:
            if not self._is_told(amended, amends):
                return False
        elif not self._is_clear(entry_id, kind, amended, body):
            return False
        if not self._grew(leaf, top_digits):
            return False
        self._pass_record(self.read.record)
        return True

    def _is_told(self, amended: str | None, amends: int) -> bool:
        """Say whether the envelope of the next record names what its row amends."""
        self.read = Read(NOT_READ, NOT_READ, self.next_record)
        if not amends:
            return amended is None
        # All records before this one were walked, so the one it amends has an earlier place.
        is_earlier = amends < self.next_record and self._is_without_leap
        return is_earlier and amended == entry_text_of("record", amends)

    def _is_clear(self, entry_id: str, kind: str, amended: str | None, body: str) -> bool:
        """Say whether the body of what is no record, or whose record nobody knows, is clear."""
        if amended is not None:
            return False
        try:
            told = read_entry_text(body)
        except NotCanonical:
            return False
        if not isinstance(told, dict) or not told.get("salt"):
            return False
        if told.get("amends_number") is not None:
            return False
        number = told.get("number") if kind in RECORD_KINDS else None
        if entry_id == self.record_id:
            number = self.next_record
        self.read = Read({"kind": kind, "entry_id": entry_id, "amends": None}, told, _whole(number))
        return True

    def _grew(self, leaf: bytes, top_digits: str) -> bool:
        """Add a leaf where the hash over the entries before it fits; say whether it does."""
        before = self.tree.peaks[:]
        top = self.tree.add(leaf)
        if top.hex() != top_digits:
            self.tree = Frontier(self.next_seq, before)
            return False
        if self.next_seq == 0:
            self.origin = origin_of(leaf.hex())
        self.next_seq += 1
        return True

    def _looked_at(self, entry: Entry) -> list[Fault]:
        if self.is_sound:
            self._tops = [peak.hex() for peak in self.tree.peaks]
        self.read = self._read(entry)
        sentences = [
            *_of_envelope(entry, self.read.envelope),
            *self._of_leaf(entry),
            *_of_body(entry, self.read),
            *self._of_amends(entry),
        ]
        record = self.read.record
        faults = [*self._gap(entry), *(Fault(each, entry.seq, record) for each in sentences)]
        self._of_disposal(entry)
        self.is_sound = self.is_sound and not faults
        self._go_on(entry)
        return faults

    def _of_disposal(self, entry: Entry) -> None:
        """Remember a body that is missing until a later entry says that it was disposed of."""
        envelope, body = self.read.envelope, self.read.body
        if entry.body is None:
            fault = Fault("the body is missing", entry.seq, self.read.record)
            key = f"{envelope.get('entry_id')} {envelope.get('body_sha256')}"
            self._without_body[key] = fault
        elif envelope.get("kind") == DISPOSAL:
            key = f"{envelope.get('amends')} {body.get('disposed_sha256')}"
            self._without_body.pop(key, None)

    def end(self) -> list[Fault]:
        """Return the entries whose body is missing, though none says that it was disposed of."""
        return list(self._without_body.values())

    def _read(self, entry: Entry) -> Read:
        envelope, body = _object(entry.envelope), _object(entry.body or "")
        number = body.get("number") if envelope.get("kind") in RECORD_KINDS else None
        if entry.entry_id == self.record_id:
            number = self.next_record
        return Read(envelope, body, _whole(number))

    def _pass_record(self, number: int | None) -> None:
        if number is None or number < self.next_record:
            return
        self._is_without_leap = self._is_without_leap and number == self.next_record
        self.next_record = number + 1
        self.record_id = entry_text_of("record", self.next_record)

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
        is_told = envelope.get("kind") in RECORD_KINDS and entry.body is not None
        if is_told and amends != str(entry_text_of("record", wrong if type(wrong) is int else 0)):
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
        self._pass_record(self.read.record)

    def head(self) -> Checkpoint:
        """Return size and root of what was walked."""
        return Checkpoint(self.origin, self.tree.size, self.tree.root())


def fault_of_checkpoint(text: str, walked: Checkpoint, sound_until: int = 0) -> Fault | None:
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
            walked.size - 1,
        )
    if told.origin != walked.origin:
        return Fault(f"the checkpoint is one of {told.origin}, this is {walked.origin}", 0)
    return None


def _whole(number: object) -> int | None:
    return number if type(number) is int else None


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
        if entry.body_sha256 != read.envelope.get("body_sha256"):
            yield "the digest beside the body is not the one of the envelope"
        return
    digest = digest_of(entry.body)
    if digest != read.envelope.get("body_sha256"):
        yield "the body is not the one of the envelope"
    elif not _is_canonical(entry.body, read.body) or not read.body.get("salt"):
        yield "the body is not canonical"
    if entry.body_sha256 != digest:
        yield "the digest beside the body is not its own"

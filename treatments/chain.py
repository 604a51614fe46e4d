"""Appends to the journal, and tells its head and its proofs; none of it grows with the journal."""

import secrets
from collections.abc import Iterable, Iterator, Mapping
from datetime import datetime
from itertools import count
from typing import Any, NamedTuple
from uuid import UUID

from asgiref.local import Local
from django.contrib.auth.models import AbstractUser
from django.db import connection
from django.db.transaction import TransactionManagementError

from treatments.models import JournalEntry
from treatments.rules.checkpoints import Checkpoint
from treatments.rules.journal import RESTORE, Entry, entry_id_of, origin_of, write_entry
from treatments.rules.merkle import (
    Frontier,
    Range,
    consistency_ranges,
    folded,
    inclusion_ranges,
    whole_subtrees,
)

HEAD_LOCK = 1_146_442_604  # any number will do that every worker shares
SALT_LENGTH = 16
TABLE = JournalEntry._meta.db_table  # asked directly: each record waits for these answers
COLUMNS = Entry._fields
HASHES = "seq, leaf_hash, subtree_hash"
INSERT = f"INSERT INTO {TABLE} ({', '.join(COLUMNS)}) VALUES ({', '.join(['%s'] * len(COLUMNS))})"  # noqa: S608
ENTRY_ID: Any = JournalEntry._meta.get_field("entry_id")
SYSTEM = "system"
_LIKELY = Local()  # how many entries there were when this thread last appended one


def append(
    kind: str,
    body: Mapping[str, object],
    *,
    entry_id: UUID,
    amends: UUID | None = None,
    actor: str = SYSTEM,
    recorded_at: datetime,
) -> JournalEntry:
    """Append an entry within the caller's transaction, so that both are kept or neither.

    body: values as `treatments.rules.canonical.plain` gives them
    """
    lock_head()
    size, tops = _end()
    entry = write_entry(
        seq=size,
        kind=kind,
        entry_id=entry_id,
        amends=amends,
        actor=actor,
        recorded_at=recorded_at,
        body=body,
        salt=secrets.token_bytes(SALT_LENGTH),
        peaks=tops,
    )
    _insert(entry)
    _LIKELY.size = size + 1
    return JournalEntry(**entry._asdict())


def _insert(entry: Entry) -> None:
    """Write an entry's row, whose columns its writer has brought into form."""
    kept_id = ENTRY_ID.get_db_prep_value(UUID(entry.entry_id), connection)
    with connection.cursor() as cursor:
        cursor.execute(
            INSERT,
            [
                kept_id if name == "entry_id" else value
                for name, value in zip(COLUMNS, entry, strict=True)
            ],
        )


def _end() -> tuple[int, list[bytes]]:
    """Return how many entries there are, and the roots of the whole subtrees they fall into.

    One query, where nobody else appended since this thread last did; what it took for the end is
    asked as well, so that a wrong guess is seen.
    """
    likely: int = getattr(_LIKELY, "size", 0)
    subtrees = whole_subtrees((0, likely))
    lasts = sorted({end - 1 for _, end in subtrees})
    if lasts:
        places = ", ".join(["%s"] * len(lasts))
        with connection.cursor() as cursor:
            cursor.execute(
                f"SELECT {HASHES} FROM {TABLE} WHERE seq IN ({places}) "  # noqa: S608
                f"UNION ALL SELECT {HASHES} FROM (SELECT {HASHES} FROM {TABLE} "
                "WHERE seq >= %s ORDER BY seq LIMIT 1) AS later",
                [*lasts, likely],
            )
            kept = {seq: (leaf, top) for seq, leaf, top in cursor.fetchall()}
        if sorted(kept) == lasts:
            return likely, _roots_in(kept, subtrees)
    size = journal_size()
    return size, peaks(size)


class Draft(NamedTuple):
    """An entry that has no place yet, in the words of `append`."""

    kind: str
    body: Mapping[str, object]
    entry_id: UUID
    recorded_at: datetime
    actor: str = SYSTEM
    amends: UUID | None = None


def append_many(drafts: Iterable[Draft]) -> int:
    """Append entries in their order, asking for the head but once; return how many they were.

    Within the caller's transaction, as `append`.
    """
    lock_head()
    size = journal_size()
    tree = Frontier(size, peaks(size))
    rows = []
    for draft in drafts:
        salt = secrets.token_bytes(SALT_LENGTH)
        entry = write_entry(seq=tree.size, salt=salt, peaks=tree.peaks, **draft._asdict())
        tree.add(bytes.fromhex(entry.leaf_hash))
        rows.append(JournalEntry(**entry._asdict()))
    JournalEntry.objects.bulk_create(rows)
    return len(rows)


def append_change(
    kind: str, number: int, body: Mapping[str, object], *, actor: str, recorded_at: datetime
) -> JournalEntry:
    """Append the next state of a thing that may change, such as a certificate or a role.

    number: by which the thing is known; each state names the one before it
    """
    lock_head()
    earlier = list(_numbered(f"{kind} {number}"))
    return append(
        kind,
        body,
        entry_id=entry_id_of(f"{kind} {number}", len(earlier) + 1),
        amends=earlier[-1] if earlier else None,
        actor=actor,
        recorded_at=recorded_at,
    )


def actor_of(user: AbstractUser | None) -> str:
    """Return who is told to have written an entry."""
    return f"user:{user.pk}" if user else SYSTEM


def lock_head() -> None:
    """Let nobody else append before this transaction ends.

    SQLite has locked the whole database when the transaction began.
    """
    if not connection.in_atomic_block:
        raise TransactionManagementError("The journal grows in a transaction only.")
    if connection.vendor == "postgresql":
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_xact_lock(%s)", [HEAD_LOCK])


def journal_size() -> int:
    """Return how many entries the journal has."""
    with connection.cursor() as cursor:
        cursor.execute(f"SELECT coalesce(max(seq) + 1, 0) FROM {TABLE}")  # noqa: S608
        return int(cursor.fetchone()[0])


def peaks(size: int) -> list[bytes]:
    """Return the roots of the whole subtrees into which the first entries fall."""
    return _hashes(whole_subtrees((0, size)))


def has_entry(entry_id: UUID) -> bool:
    """Say whether the journal keeps a thing."""
    return JournalEntry.objects.filter(entry_id=entry_id).exists()


def epoch() -> str:
    """Return what differs after each restore, so that others know that entries may be lost.

    The first digits of the last restore's hash, "0" where the book was never restored.
    """
    last = list(_numbered(RESTORE))[-1:]
    rows = JournalEntry.objects.filter(entry_id__in=last).values_list("leaf_hash", flat=True)
    return next((leaf[:16] for leaf in rows), "0")


def next_restore() -> UUID:
    """Return the id of the entry of the next restore of this book."""
    return entry_id_of(RESTORE, len(list(_numbered(RESTORE))) + 1)


def _numbered(noun: str) -> Iterator[UUID]:
    """Yield the ids of the entries of a noun that the journal has, which are numbered from 1."""
    for number in count(1):
        entry_id = entry_id_of(noun, number)
        if not has_entry(entry_id):
            return
        yield entry_id


def head() -> Checkpoint | None:
    """Return size and root of the journal as it stands; None while it is empty."""
    size = journal_size()
    return head_at(size) if size else None


def head_at(size: int) -> Checkpoint:
    """Return the root over the first entries of the journal, of which there are that many."""
    first, *peaks = _hashes([(0, 1), *whole_subtrees((0, size))])
    return Checkpoint(origin_of(first.hex()), size, folded(peaks))


def inclusion_proof_of(seq: int, size: int) -> list[bytes]:
    """Return the hashes that prove that an entry is among the first `size` ones [RFC9162]."""
    return _roots(inclusion_ranges(seq, size))


def consistency_proof_of(earlier: int, size: int) -> list[bytes]:
    """Return the hashes that prove that the journal extends its first entries [RFC9162]."""
    return _roots(consistency_ranges(earlier, size))


def _roots(ranges: Iterable[Range]) -> list[bytes]:
    """Return the roots of ranges of the tree, with one query for all of them."""
    pieces = [whole_subtrees(leaves) for leaves in ranges]
    hashes = iter(_hashes([piece for each in pieces for piece in each]))
    return [folded([next(hashes) for _ in each]) for each in pieces]


def _hashes(subtrees: list[Range]) -> list[bytes]:
    """Return the roots of single leaves and of whole subtrees that end with their last leaf."""
    if not subtrees:
        return []
    lasts = sorted({end - 1 for _, end in subtrees})
    places = ", ".join(["%s"] * len(lasts))
    with connection.cursor() as cursor:
        cursor.execute(
            f"SELECT {HASHES} FROM {TABLE} WHERE seq IN ({places})",  # noqa: S608
            lasts,
        )
        kept = {seq: (leaf, top) for seq, leaf, top in cursor.fetchall()}
    return _roots_in(kept, subtrees)


def _roots_in(kept: Mapping[int, tuple[str, str]], subtrees: Iterable[Range]) -> list[bytes]:
    """Return roots of subtrees of which leaf and top are kept by their last place."""
    return [bytes.fromhex(kept[end - 1][end - first > 1]) for first, end in subtrees]

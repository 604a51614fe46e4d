"""Whatever is changed in a journal is found; three entries were computed by two other programs."""

import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID, uuid5

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from treatments.rules.canonical import entry_bytes
from treatments.rules.checkpoints import Checkpoint
from treatments.rules.journal import (
    ENTRIES,
    Entry,
    digest_of,
    entry_id_of,
    origin_of,
    write_entry,
)
from treatments.rules.journal_walk import Walk, fault_of_checkpoint
from treatments.rules.merkle import Frontier, leaf_hash

FILE = Path(__file__).parents[2] / "reference" / "integrity_vectors.json"
EXAMPLE = json.loads(FILE.read_text(encoding="utf-8"))["journal_example"]
NOON = datetime(2026, 5, 4, 12, tzinfo=UTC)
TEXTS = ["envelope", "body", "leaf_hash", "subtree_hash", "body_sha256", "entry_id"]


def written(drafts):
    """A journal of entries that are told by kind, id, the id they amend, and body."""
    tree, entries = Frontier(), []
    for seq, (kind, entry_id, amends, body) in enumerate(drafts):
        entry = write_entry(
            seq=seq,
            kind=kind,
            entry_id=entry_id,
            amends=amends,
            actor="user:7",
            recorded_at=NOON + timedelta(minutes=seq),
            body=body,
            salt=bytes([seq % 256]) * 16,
            peaks=tree.peaks,
        )
        tree.add(bytes.fromhex(entry.leaf_hash))
        entries.append(entry)
    return entries


def record(number, amends=None, **body):
    """A record, which amends the one of another number where one is told."""
    told = {"number": number, "amends_number": amends, "note": f"péché {number - 1}"} | body
    kind = "amendment" if amends else "record"
    amended = entry_id_of("record", amends) if amends else None
    return kind, entry_id_of("record", number), amended, told


def journal(size):
    """A journal in which every third record amends the one before it."""
    return written(record(seq + 1, seq if seq % 3 == 2 else None) for seq in range(size))


LONG = journal(40)
long_ones = settings(deadline=None)  # a walk is longer on a busy machine


def walked(entries):
    places = {entry.entry_id: entry.seq for entry in entries}
    walk = Walk(places.get)
    faults = [fault for entry in entries for fault in walk.step(entry)]
    return walk, [*faults, *walk.end()]


def faults_of(entries):
    return walked(entries)[1]


def sentences_of(entries, beside):
    """What is told of entries of which somebody wrote the bodies again from the records beside."""
    places = {entry.entry_id: entry.seq for entry in entries}
    walk = Walk(places.get)
    steps = zip(entries, beside, strict=True)
    return [fault.sentence for entry, amends in steps for fault in walk.step(entry, amends)]


def test_the_example_of_two_other_programs_is_written_alike():
    tree = Frontier()
    for seq, (told, case) in enumerate(
        zip(EXAMPLE["entries"], EXAMPLE["root_by_size"], strict=True)
    ):
        envelope, body = told["envelope"], dict(told["body"])
        entry = write_entry(
            seq=seq,
            kind=envelope["kind"],
            entry_id=UUID(envelope["entry_id"]),
            amends=UUID(envelope["amends"]) if envelope["amends"] else None,
            actor=envelope["actor"],
            recorded_at=datetime.fromisoformat(envelope["recorded_at"]),
            salt=bytes.fromhex(body.pop("salt")),
            body=body,
            peaks=tree.peaks,
        )
        tree.add(bytes.fromhex(entry.leaf_hash))

        assert entry.envelope == told["envelope_canonical"]
        assert entry.body == told["body_canonical"]
        assert (entry.leaf_hash, tree.root().hex()) == (told["leaf_hash"], case["root"])


def test_a_journal_as_it_was_kept_has_no_fault():
    walk, faults = walked(LONG)

    assert faults == []
    assert walk.head().root == walked(journal(40))[0].head().root
    assert walk.head().origin == origin_of(LONG[0].leaf_hash)


def test_a_journal_is_named_by_its_first_entry_also_where_that_is_at_fault():
    walk, faults = walked([LONG[0]._replace(body_sha256="0" * 64), *LONG[1:]])

    assert faults
    assert walk.head().origin == origin_of(LONG[0].leaf_hash)


@long_ones
@given(
    st.sampled_from(LONG),
    st.sampled_from(TEXTS),
    st.integers(0, 500),
    st.characters(),
)
def test_any_changed_sign_of_an_entry_is_found_and_named(entry, part, place, sign):
    text = getattr(entry, part)
    place %= len(text)
    changed = text[:place] + sign + text[place + 1 :]
    assume(changed != text)
    entries = [each._replace(**{part: changed}) if each is entry else each for each in LONG]

    first = faults_of(entries)[0]

    assert (first.seq, first.record) == (entry.seq, entry.seq + 1)


@long_ones
@given(st.sampled_from(LONG), st.sampled_from(TEXTS), st.integers(0, 500), st.integers(0, 7))
def test_any_flipped_bit_of_an_entry_is_found(entry, part, place, bit):
    data = bytearray(getattr(entry, part).encode())
    data[place % len(data)] ^= 1 << bit
    changed = entry._replace(**{part: data.decode("utf-8", "surrogateescape")})

    assert faults_of([changed if each is entry else each for each in LONG])


@long_ones
@given(st.sampled_from(LONG[:-1]))
def test_any_missing_entry_is_found_and_named(entry):
    first = faults_of([each for each in LONG if each is not entry])[0]

    assert (first.seq, first.record) == (entry.seq, entry.seq + 1)


@pytest.mark.parametrize(
    ("missing", "faults"),
    [
        ([5], ["entry 5, record 6: the entry is missing"]),
        (
            [5, 6],
            ["entry 5, record 6: the entry is missing", "entry 6: and so are the ones up to it"],
        ),
    ],
)
def test_a_gap_tells_its_first_entry_and_its_last(missing, faults):
    told = faults_of([entry for entry in LONG[:8] if entry.seq not in missing])

    assert [fault.say() for fault in told] == faults


def hold(number):
    """A hold, which is an entry without a record."""
    return "hold", entry_id_of("hold", number), None, {"note": f"hold {number}"}


@pytest.mark.parametrize("missing", [0, 1])
def test_a_missing_entry_names_no_record_where_the_next_one_does_not_tell_that_it_was_one(missing):
    # after the record follows a hold, and after the hold the very record that is next
    entries = written([record(1), hold(1), record(2)])

    faults = faults_of([entry for entry in entries if entry.seq != missing])

    assert faults[0].say() == f"entry {missing}: the entry is missing"


@long_ones
@given(st.integers(0, 38), st.integers(1, 39))
def test_any_two_entries_that_changed_places_are_found(one, other):
    assume(one < other)
    entries = list(LONG)
    entries[one], entries[other] = (
        LONG[other]._replace(seq=one),
        LONG[one]._replace(seq=other),
    )

    assert faults_of(entries)[0].seq == one


@long_ones
@given(st.integers(1, 40), st.integers(0, 500), st.integers(0, 7))
def test_any_flipped_bit_of_a_checkpoint_is_found(size, place, bit):
    head = walked(LONG[:size])[0].head()
    data = bytearray(head.text().encode())
    data[place % len(data)] ^= 1 << bit

    assert fault_of_checkpoint(data.decode("utf-8", "replace"), head)


def rewritten(entry, **changes):
    """Write an entry anew with a changed body and every hash of its own right again."""
    return with_body(entry, entry_bytes(json.loads(entry.body) | changes).decode())


def with_body(entry, text):
    """Write an entry anew with another body, as it stands, and its own hashes right again."""
    envelope = json.loads(entry.envelope) | {"body_sha256": digest_of(text)}
    data = entry_bytes(envelope)
    return Entry(
        entry.seq,
        entry.entry_id,
        data.decode(),
        leaf_hash(data).hex(),
        entry.subtree_hash,
        text,
        digest_of(text),
    )


def test_an_entry_written_anew_with_its_own_hashes_does_not_fit_those_before_it():
    entries = [rewritten(e, note="x") if e.seq == 7 else e for e in LONG]

    assert faults_of(entries)[0].say() == (
        "entry 7, record 8: the hash over the entries before it does not fit"
    )


@pytest.mark.parametrize(
    "text",
    [
        '{"note": "x", "salt": "00"}',
        '{"Note":"x","salt":"00"}',
        '{"note":"x","salt":""}',
        '{"note":"x"}',
        "{}",
        "[]",
    ],
)
def test_a_body_that_is_not_canonical_or_has_no_salt_is_found_though_its_hashes_are_right(text):
    # [RFC8785] no white space between tokens; the salt is our own
    (first,) = written([hold(1)])
    changed = with_body(first, text)

    faults = faults_of([changed._replace(subtree_hash=changed.leaf_hash)])

    assert [fault.sentence for fault in faults] == ["the body is not canonical"]


@pytest.mark.parametrize("changes", [{"v": 2}, {"said_by": "nobody"}])
def test_an_envelope_of_another_version_or_with_another_word_is_found(changes):
    (first,) = written([hold(1)])
    data = entry_bytes(json.loads(first.envelope) | changes)
    leaf = leaf_hash(data).hex()

    changed = first._replace(envelope=data.decode(), leaf_hash=leaf, subtree_hash=leaf)

    told = [fault.sentence for fault in faults_of([changed])]
    assert told == ["the envelope does not say what it should"]


def test_a_journal_written_anew_does_not_fit_the_checkpoint_of_the_old_one():
    old = walked(LONG)[0].head()
    tree, entries = Frontier(), []
    for entry in LONG:
        new = rewritten(entry, note="x") if entry.seq == 7 else entry
        top = tree.add(bytes.fromhex(new.leaf_hash))
        entries.append(new._replace(subtree_hash=top.hex()))
    walk, faults = walked(entries)

    assert faults == []
    assert fault_of_checkpoint(old.text(), walk.head(), sound_until=5).say() == (
        "entry 39: one of the entries 5 to 39 is not what the checkpoint after 40 entries "
        "vouches for"
    )


def test_an_amendment_of_what_is_not_there_is_found():
    sentences = [fault.sentence for fault in faults_of(LONG[2:])]

    assert "what it amends is no earlier entry" in sentences


def test_an_amendment_of_another_record_is_found():
    entries = [rewritten(e, amends_number=1) if e.seq == 2 else e for e in LONG[:3]]

    assert "what it amends is the entry of another record" in [
        fault.sentence for fault in faults_of(entries)
    ]


def test_a_body_that_amends_where_the_envelope_does_not_is_found():
    entries = written([record(1), record(2, amends_number=1)])

    told = ["the envelope names no entry, the body amends record 1"]
    assert [fault.sentence for fault in faults_of(entries)] == told
    assert sentences_of(entries, [0, 1]) == told


def test_an_envelope_that_amends_where_the_body_does_not_is_found_also_beside_its_row():
    _, entry_id, amended, body = record(2, 1)
    entries = written([record(1), ("amendment", entry_id, amended, body | {"amends_number": None})])

    told = ["what it amends is the entry of another record"]
    assert [fault.sentence for fault in faults_of(entries)] == told
    assert sentences_of(entries, [0, 0]) == told


def test_records_that_were_written_again_beside_the_journal_have_no_fault():
    beside = [entry.seq if entry.seq % 3 == 2 else 0 for entry in LONG]

    assert sentences_of(LONG, beside) == []


def test_an_entry_that_amends_itself_is_found_also_where_its_row_says_so():
    assert sentences_of(written([record(1, 1)]), [1]) == ["what it amends is no earlier entry"]


@pytest.mark.parametrize(
    ("records", "beside"),
    [
        ([record(1), record(5), record(6, 3)], [0, None, 3]),
        ([record(2), record(3, 1)], [None, 1]),
    ],
)
def test_an_amendment_of_a_number_that_was_left_out_is_found_also_where_its_row_says_so(
    records, beside
):
    assert sentences_of(written(records), beside) == ["what it amends is no earlier entry"]


def test_a_row_vouches_for_no_other_entry_than_the_next_record():
    *_, body = record(1)
    (hold,) = written([("hold", entry_id_of("hold", 1), None, body)])
    walk = Walk({}.get)

    assert walk.step(hold, 0) == ()
    assert walk.read.record is None


def test_a_disposed_body_is_no_fault_once_an_entry_says_so():
    _, taken = written([record(1), record(2, 1)])
    told = {"disposed_sha256": taken.body_sha256}
    said = ("disposal", entry_id_of("disposal", 2), entry_id_of("record", 2), told)
    entries = written([record(1), record(2, 1), said])
    entries[1] = taken._replace(body=None)

    assert faults_of(entries) == []
    assert [fault.say() for fault in faults_of(entries[:2])] == [
        "entry 1, record 2: the body is missing"
    ]


@pytest.mark.parametrize("body", [None, "", "{}", "nothing", '{"salt":""}'])
def test_a_body_that_is_none_is_found(body):
    entries = [LONG[0]._replace(body=body)]

    assert faults_of(entries)[0].seq == 0


def test_a_checkpoint_of_more_than_there_is_tells_where_it_ends():
    head = walked(LONG)[0].head()
    shorter = walked(LONG[:30])[0].head()

    assert fault_of_checkpoint(head.text(), shorter).seq == 30


def test_a_checkpoint_of_fewer_than_were_walked_is_told():
    head, longer = (walked(LONG[:size])[0].head() for size in (30, 40))

    assert fault_of_checkpoint(head.text(), longer).say() == (
        "entry 0: the checkpoint counts 30 entries, not 40"
    )


def test_a_checkpoint_of_another_journal_is_told():
    head = walked(LONG)[0].head()
    other = Checkpoint("duskbook/other", head.size, head.root)

    fault = fault_of_checkpoint(other.text(), head)
    assert fault.say().startswith("entry 0: the checkpoint is one of duskbook/other")


@given(st.integers(0, 2**53), st.sampled_from(["record", "hold", "hold lifted"]))
def test_the_ids_of_entries_are_those_of_the_standard_library(number, noun):
    assert entry_id_of(noun, number) == uuid5(ENTRIES, f"{noun} {number}")

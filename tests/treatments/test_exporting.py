"""An exported journal is checked by our command and by a program that knows the format alone."""

import json
import subprocess
import sys
from datetime import UTC, datetime
from io import StringIO
from pathlib import Path

import pytest
from django.core.management import CommandError, call_command
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from treatments import chain
from treatments.disposing import dispose_of
from treatments.models import Checkpoint
from treatments.recording import amend_application, record_application

STANDALONE = Path(__file__).parents[1] / "reference" / "standalone_verify.py"


@pytest.fixture
def exported(stated, owner, tmp_path):
    """A file with three entries, of which the last amends the second, and one checkpoint."""
    record_application(**stated)
    second = record_application(**stated, note="péché 😀")
    amend_application(second, reason="the note was in French", by=owner, note="sin")
    file = tmp_path / "journal.jsonl"
    call_command("export_journal", file, stdout=StringIO())
    return file


def alone(*files):
    """Check files with the program of a stranger; return how it ends and what it says."""
    words = [sys.executable, "-I", str(STANDALONE), *map(str, files)]
    told = subprocess.run(words, capture_output=True, text=True, check=False)
    return told.returncode, told.stdout


def ours(file):
    try:
        call_command("verify", export=file, stdout=StringIO())
    except CommandError as error:
        return error.returncode
    return 0


def rewrite(file, place, change):
    lines = [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]
    change(lines[place])
    written = "".join(json.dumps(line, ensure_ascii=False) + "\n" for line in lines)
    file.write_text(written, encoding="utf-8")


def test_both_find_an_export_as_it_was_kept(exported):
    code, said = alone(exported)

    assert (code, ours(exported)) == (0, 0)
    assert said == f"3 entries, root {chain.head().root.hex()}\n"


def test_the_lines_are_the_ones_of_the_format(exported):
    lines = [json.loads(line) for line in exported.read_text(encoding="utf-8").splitlines()]

    assert lines[0] == {
        "format": "duskbook-journal",
        "version": 1,
        "origin": chain.head().origin,
        "size": 3,
        "root": chain.head().root.hex(),
    }
    assert [line["seq"] for line in lines[1:4]] == [0, 1, 2]
    assert lines[4] == {"checkpoint": Checkpoint.objects.get().text}


@pytest.mark.parametrize(
    "part", ["envelope", "body", "leaf_hash", "subtree_hash", "body_sha256", "entry_id"]
)
@pytest.mark.parametrize("place", [1, 2, 3])
def test_both_find_a_changed_entry(exported, place, part):
    def change(line):
        line[part] = line[part].replace(line[part][5], "~", 1)

    rewrite(exported, place, change)

    assert alone(exported)[0] in {1, 2}
    assert ours(exported) == 1


@pytest.mark.parametrize("place", [0, 1, 2, 3])
def test_both_find_a_missing_line(exported, place):
    lines = exported.read_text(encoding="utf-8").splitlines(keepends=True)
    exported.write_text("".join([*lines[:place], *lines[place + 1 :]]), encoding="utf-8")

    assert alone(exported)[0] in {1, 2}
    assert ours(exported) in {1, 2}


def test_both_find_a_changed_checkpoint(exported):
    def change(line):
        origin, size, root, *rest = line["checkpoint"].split("\n")
        line["checkpoint"] = "\n".join(
            [origin, size, ("A" if root[0] != "A" else "B") + root[1:], *rest]
        )

    rewrite(exported, 4, change)

    assert alone(exported)[0] == 1
    assert ours(exported) == 1


def test_a_copy_from_outside_is_held_against_an_export(exported, stated, tmp_path):
    record_application(**stated)
    later = tmp_path / "later"
    later.write_text(chain.head().text(), encoding="utf-8")

    code, said = alone(exported, later)

    assert code == 1
    assert "checkpoint after 4 entries: the journal has 3" in said
    with pytest.raises(CommandError, match="the last are missing"):
        call_command("verify", export=exported, checkpoint=[later], stdout=StringIO())


@pytest.mark.parametrize("content", ["", "{}\n", "[]\n", "nothing\n", "\udcff"])
def test_what_is_no_export_cannot_be_checked(tmp_path, content):
    file = tmp_path / "journal.jsonl"
    file.write_text(content, encoding="utf-8", errors="surrogateescape")

    assert (alone(file)[0], ours(file)) == (2, 2)


def test_a_file_that_exists_is_not_written_over(exported):
    with pytest.raises(CommandError, match="Not written"):
        call_command("export_journal", exported, stdout=StringIO())


def test_an_empty_journal_is_exported_as_well(db, tmp_path):
    file = tmp_path / "journal.jsonl"

    call_command("export_journal", file, stdout=StringIO())

    assert (alone(file)[0], ours(file)) == (0, 0)


def test_both_know_a_body_that_was_disposed_of_from_one_that_is_missing(stated, owner, tmp_path):
    old = datetime(2018, 5, 4, 16, tzinfo=UTC)
    record = record_application(
        **stated | {"started_at": old, "done_at": old, "captured_at": old}, now=old
    )
    record_application(**stated)
    dispose_of([record], by=owner, at=datetime(2026, 5, 4, 16, tzinfo=UTC))
    file = tmp_path / "journal.jsonl"
    call_command("export_journal", file, stdout=StringIO())

    assert (alone(file)[0], ours(file)) == (0, 0)
    rewrite(file, 2, lambda entry: entry.update(body=None))
    assert (alone(file)[0], ours(file)) == (1, 1)


@settings(
    max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(data=st.data())
def test_any_single_byte_of_an_export_that_is_changed_is_found(exported, data):
    """Everything that an export says: bodies, envelopes, hashes, checkpoints, head and order."""
    whole = exported.read_bytes()
    place = data.draw(st.integers(0, len(whole) - 1))
    changed = bytearray(whole)
    changed[place] ^= data.draw(st.integers(1, 255))
    file = exported.with_name("changed.jsonl")
    file.write_bytes(changed)

    assume(meaning_of(bytes(changed)) != meaning_of(whole))
    assert ours(file) in {1, 2}


def meaning_of(data):
    """Return what the lines of a file say; a blank more between two marks says the same."""
    try:
        return [json.loads(line) for line in data.decode().split("\n") if line]
    except ValueError:
        return None

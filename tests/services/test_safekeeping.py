"""A backup comes back whole or not at all; the drill of it is made here on both databases."""

import os
import sqlite3
from contextlib import closing
from datetime import timedelta
from io import BytesIO, StringIO
from pathlib import Path
from threading import Thread

import pytest
from cryptography.hazmat.primitives.ciphers.aead import ChaCha20Poly1305
from django.core.management import CommandError, call_command
from django.db import connection
from django.utils import timezone

from services.safekeeping import (
    back_up_nightly,
    databases,
    drill,
    last_backup,
    made_at,
    make_backup,
    packing,
    restore,
    restoring,
    sealing,
)
from services.safekeeping.sealing import CannotKeep, NoBackup, Opener, Sealer, new_key
from services.verifying import verify
from treatments import chain
from treatments.checkpointing import make_checkpoint
from treatments.guarding import missing_guards
from treatments.models import ApplicationRecord, JournalEntry
from treatments.recording import record_application

KEY = new_key()
REASON = "the disk of the office broke"


@pytest.fixture
def book(settings, tmp_path, stated, transactional_db):
    """A book with two records and a photograph, in a data folder of its own."""
    settings.DATA = tmp_path
    settings.MEDIA_ROOT, settings.PAPER_ROOT = tmp_path / "media", tmp_path / "paper"
    settings.BACKUP_KEY = KEY
    (tmp_path / "media" / "photos").mkdir(parents=True)
    (tmp_path / "media" / "photos" / "rose.jpg").write_bytes(b"not really a rose")
    for _ in range(2):
        record_application(**stated)
    return stated


@pytest.fixture
def backup(book, tmp_path):
    return make_backup(tmp_path / "away", key=KEY, now=timezone.now())


def put_back(backup, **others):
    return restore(
        backup, **{"key": KEY, "reason": REASON, "by": "owner", "now": timezone.now()} | others
    )


def opened(sealed):
    return Opener(BytesIO(sealed), sealing.key_of(KEY)).read()


def seal(data):
    out = BytesIO()
    sealer = Sealer(out, sealing.key_of(KEY))
    sealer.write(data)
    sealer.finish()
    return out.getvalue()


@pytest.mark.parametrize("size", [0, 1, sealing.PIECE - 1, sealing.PIECE, 2 * sealing.PIECE + 5])
def test_what_was_sealed_comes_out_again(size):
    data = bytes(index % 251 for index in range(size))

    assert opened(seal(data)) == data


def test_the_cipher_is_the_one_of_the_published_example():
    """RFC 8439, section 2.8.2: the first bytes and the tag of the example [RFC8439]."""
    key = bytes(range(0x80, 0xA0))
    nonce = bytes.fromhex("070000004041424344454647")
    text = (
        b"Ladies and Gentlemen of the class of '99: If I could offer you only one tip for the "
        b"future, sunscreen would be it."
    )

    sealed = ChaCha20Poly1305(key).encrypt(nonce, text, bytes.fromhex("50515253c0c1c2c3c4c5c6c7"))

    assert sealed[:8].hex() == "d31a8d34648e60db"
    assert sealed[-16:].hex() == "1ae10b594f09e26a7e902ecbd0600691"


def test_keys_are_derived_as_in_the_published_example():
    """RFC 5869, appendix A.1: the first test case [RFC5869]."""
    info, salt = bytes(range(0xF0, 0xFA)), bytes(range(0x0D))

    derived = sealing._derived(b"\x0b" * 22, salt, info, 42)

    assert derived.hex() == (
        "3cb25f25faacd57a90434f64d0362f2a2d2d0a90cf1a5a4c5db02d56ecc4c5bf34007208d5b887185865"
    )


@pytest.mark.parametrize("place", [0, 20, 30, 60, 100, -1])
def test_any_changed_byte_of_a_sealed_file_is_found(place):
    sealed = bytearray(seal(bytes(2000)))
    sealed[place] ^= 1

    with pytest.raises(NoBackup):
        opened(bytes(sealed))


def test_pieces_left_out_or_moved_are_found():
    sealed = seal(bytes(3 * sealing.PIECE))
    head, piece = len(sealing.MAGIC) + 40, sealing.PIECE + sealing.TAG_LENGTH
    first, second = sealed[head : head + piece], sealed[head + piece : head + 2 * piece]

    for changed in (
        sealed[: head + piece],
        sealed[: head + 2 * piece],
        sealed[:head] + second + first + sealed[head + 2 * piece :],
        sealed[:-1],
        sealed + b"x",
    ):
        with pytest.raises(NoBackup, match="cut off or damaged"):
            opened(changed)


def test_a_backup_names_nobody(backup):
    assert b"Reading Society" not in backup.read_bytes()


def test_a_backup_is_drilled(backup, book):
    found = drill(backup, key=KEY)

    assert found.wrong == ()
    assert (found.entries, found.records, found.files) == (2, {"2026-07": 2}, 1)
    assert found.newest == ApplicationRecord.objects.get(number=2).received_at
    assert found.seconds > 0


def test_a_drill_leaves_the_book_as_it_is(backup, book, settings):
    record_application(**book)

    drill(backup, key=KEY)

    assert chain.journal_size() == ApplicationRecord.objects.count() == 3
    assert [path.name for path in settings.DATA.glob("restoring-*")] == []


def test_a_restore_brings_back_records_and_photographs_and_says_so(backup, book, settings):
    photo = settings.MEDIA_ROOT / "photos" / "rose.jpg"
    photo.unlink()
    record_application(**book)
    make_checkpoint(now=timezone.now())

    done = put_back(backup)

    assert ApplicationRecord.objects.count() == 2
    assert photo.read_bytes() == b"not really a rose"
    assert (chain.journal_size(), verify().count) == (3, 0)
    assert [told["size"] for told in done.lost] == [3]
    assert missing_guards("default") == set()
    assert '"restored_by":"owner"' in JournalEntry.objects.get(seq=2).body


def test_each_restore_begins_another_epoch(backup, book):
    epochs = {chain.epoch()}
    for _ in range(2):
        put_back(backup)
        epochs.add(chain.epoch())

    assert len(epochs) == 3


def test_a_record_can_be_kept_after_a_restore(backup, book):
    put_back(backup)

    assert record_application(**book).number == 3
    assert verify().count == 0


def test_a_photograph_that_is_there_with_other_content_stays_beside(backup, settings):
    photo = settings.MEDIA_ROOT / "photos" / "rose.jpg"
    photo.write_bytes(b"another")

    put_back(backup)

    assert photo.read_bytes() == b"not really a rose"
    assert photo.with_name("rose.jpg.before-restore").read_bytes() == b"another"


class Killed(BaseException):
    """Stands for the end of the process."""


@pytest.mark.parametrize("step", ["_append", "_written_again", "_put_files", "put_in_place"])
def test_a_restore_that_is_interrupted_leaves_the_book_as_it_was(backup, book, monkeypatch, step):
    def die(*_, **__):
        raise Killed

    record_application(**book)
    monkeypatch.setattr(restoring, step, die)

    with pytest.raises(Killed):
        put_back(backup)

    assert ApplicationRecord.objects.count() == 3
    assert verify().count == 0


def test_a_backup_that_is_interrupted_leaves_no_file_that_looks_whole(book, tmp_path, monkeypatch):
    def die(*_):
        raise Killed

    monkeypatch.setattr(packing.Sealer, "finish", die)

    with pytest.raises(Killed):
        make_backup(tmp_path / "away", key=KEY, now=timezone.now())

    assert list((tmp_path / "away").glob("*.backup")) == []


@pytest.mark.parametrize(
    ("spoil", "sentence"),
    [
        (lambda data: data[:-100], "cut off or damaged"),
        (lambda data: data[:30], "no backup of a book"),
        (lambda data: b"something else altogether", "no backup of a book"),
        (lambda data: b"", "no backup of a book"),
    ],
)
def test_a_file_that_is_no_whole_backup_is_refused(backup, spoil, sentence):
    backup.write_bytes(spoil(backup.read_bytes()))

    with pytest.raises(CommandError, match=sentence) as error:
        call_command("restore", backup, drill=True, stdout=StringIO())

    assert error.value.returncode == 1


def test_another_key_is_refused(backup, tmp_path):
    file = tmp_path / "key"
    file.write_text(new_key(), encoding="utf-8")

    with pytest.raises(CommandError, match="sealed with another key") as error:
        call_command("restore", backup, drill=True, key_file=file, stdout=StringIO())

    assert error.value.returncode == 1


def test_a_book_that_was_altered_before_its_backup_does_not_pass_the_drill(book, tmp_path):
    with connection.cursor() as cursor:
        on = " ON treatments_applicationrecord" if connection.vendor == "postgresql" else ""
        cursor.execute(f"DROP TRIGGER treatments_applicationrecord_no_update{on}")
        cursor.execute("UPDATE treatments_applicationrecord SET note = 'x' WHERE number = 1")
    backup = make_backup(tmp_path / "away", key=KEY, now=timezone.now())

    with pytest.raises(CommandError, match="entry 0, record 1: the table says otherwise") as error:
        call_command("restore", backup, drill=True, stdout=StringIO())

    assert error.value.returncode == 1


def test_the_commands_make_a_key_once_and_show_it(book, settings, tmp_path):
    settings.BACKUP_KEY = ""
    out = StringIO()

    call_command("backup", to=tmp_path / "away", stdout=out)
    key = (tmp_path / "backup-key").read_text(encoding="utf-8").strip()
    call_command("backup", to=tmp_path / "again", stdout=out)
    (file,) = (tmp_path / "again").iterdir()
    call_command("restore", file, drill=True, stdout=out)

    assert out.getvalue().count(key) == 1
    assert (tmp_path / "backup-key").stat().st_mode & 0o077 == 0
    assert "All is as it was kept." in out.getvalue()


def test_a_restore_wants_a_reason(backup):
    with pytest.raises(CommandError, match="Say why") as error:
        call_command("restore", backup, reason="because", stdout=StringIO())

    assert error.value.returncode == 2


def test_without_the_package_that_seals_a_sentence_says_so(book, tmp_path, monkeypatch):
    monkeypatch.setattr(sealing, "CAN_SEAL", False)

    with pytest.raises(CommandError, match="pip install") as error:
        call_command("backup", to=tmp_path / "away", stdout=StringIO())

    assert error.value.returncode == 2


def test_without_the_tools_of_postgresql_a_sentence_says_so(monkeypatch):
    def missing(*_, **__):
        raise FileNotFoundError

    monkeypatch.setattr(databases.subprocess, "run", missing)

    with pytest.raises(CannotKeep, match="pg_dump is missing"):
        databases._run("pg_dump")


def test_a_copy_made_while_others_write_misses_nothing_that_was_committed(book, tmp_path):
    if connection.vendor != "sqlite":
        pytest.skip("PostgreSQL's own tool sees to it")
    with connection.cursor() as cursor:  # what is committed lies in the write-ahead log alone
        cursor.execute("PRAGMA wal_autocheckpoint=0")
    record_application(**book)

    copy = databases.copy_database(Path(tmp_path))

    with closing(sqlite3.connect(copy)) as read:
        (count,) = read.execute("SELECT count(*) FROM treatments_applicationrecord").fetchone()
    assert count == 3


def test_once_a_day_a_backup_is_made_where_folder_and_key_are_set(book, settings, tmp_path):
    settings.BACKUPS, settings.NIGHTLY_BACKUPS = tmp_path / "away", True
    now = timezone.now()

    first = back_up_nightly(now=now)
    again = back_up_nightly(now=now + timedelta(hours=19))
    next_day = back_up_nightly(now=now + timedelta(hours=21))

    assert again is None
    assert sorted(settings.BACKUPS.iterdir()) == [first, next_day]
    assert last_backup() == next_day
    assert made_at(first) == now.replace(microsecond=0)
    assert drill(next_day, key=KEY).wrong == ()


def test_without_folder_and_key_no_backup_is_made_by_itself(book, settings, tmp_path):
    settings.BACKUPS, settings.NIGHTLY_BACKUPS = tmp_path / "away", False

    assert back_up_nightly(now=timezone.now()) is None
    assert last_backup() is None


def test_of_nightly_backups_the_newest_thirty_are_kept(book, settings, tmp_path):
    settings.BACKUPS, settings.NIGHTLY_BACKUPS = tmp_path, True
    mine = tmp_path / "duskbook-of-my-own.backup"
    names = [f"duskbook-202605{day:02}T020000Z.backup" for day in range(1, 32)]
    for file in [mine, *(tmp_path / name for name in names)]:
        file.touch()

    made = back_up_nightly(now=timezone.now())

    assert sorted(tmp_path.glob("*.backup")) == [
        *(tmp_path / name for name in names[2:]),
        made,
        mine,
    ]


def test_other_threads_go_on_with_the_book_while_a_copy_is_open(book, backup):
    seen = []

    def look():
        seen.append(connection.settings_dict["NAME"])
        connection.close()

    usual = connection.settings_dict["NAME"]
    copy = databases.copy_database(backup.parent)
    with databases.copy_opened(copy):
        thread = Thread(target=look)
        thread.start()
        thread.join()
        assert connection.settings_dict["NAME"] != usual

    assert seen == [usual]
    assert connection.settings_dict["NAME"] == usual


def test_the_page_of_what_goes_out_says_how_backups_stand(book, settings, owner, client, tmp_path):
    settings.BACKUPS, settings.NIGHTLY_BACKUPS = tmp_path / "away", False
    client.force_login(owner)
    off = client.get("/outgoing/").content.decode()
    settings.NIGHTLY_BACKUPS = True
    late = client.get("/outgoing/").content.decode()
    back_up_nightly(now=timezone.now())
    made = client.get("/outgoing/").content.decode()

    assert "DUSKBOOK_BACKUP_KEY" in off
    assert "There is no backup in its folder" in late
    assert "for two days none was made" in late
    assert "The last backup in its folder was made" in made
    assert "for two days" not in made


def test_a_key_that_lies_beside_the_book_is_warned_of(book, settings, tmp_path):
    settings.BACKUP_KEY = ""
    err = StringIO()

    call_command("backup", "--to", tmp_path / "away", stdout=StringIO(), stderr=err)

    assert str(tmp_path / "backup-key") in err.getvalue()
    assert "whoever takes this disk" in err.getvalue()


def test_what_one_that_was_killed_has_left_is_removed_after_a_day(book, tmp_path):
    (tmp_path / "away").mkdir()
    old, young = tmp_path / "copying-old", tmp_path / "copying-young"
    draft = tmp_path / "away" / "duskbook-20260504T020000Z.part"
    for left in (old, young):
        (left / "ready").mkdir(parents=True)
    draft.touch()
    for left in (old, draft):
        os.utime(left, (0, 0))

    made = make_backup(tmp_path / "away", key=KEY, now=timezone.now())

    assert not old.exists()
    assert young.exists()
    assert list((tmp_path / "away").iterdir()) == [made]

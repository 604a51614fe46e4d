"""An install with nothing but its defaults is closed, and the database keeps what it took."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings
from django.contrib.auth import authenticate, get_user_model
from django.db import connection

from services.project import settings as written

ROOT = Path(__file__).resolve().parents[2]
KEPT_FROM_THE_TESTS = ("PATH", "HOME", "LANG", "SYSTEMROOT")
# The passwords that people try first; from memory.
TRIED_FIRST = [
    "",
    "admin",
    "password",
    "changeme",
    "duskbook",
    "owner",
    "demo",
    "secret",
    "12345678",
]


def manage(data, *words, **variables):
    kept = {name: os.environ[name] for name in KEPT_FROM_THE_TESTS if name in os.environ}
    return subprocess.run(
        [sys.executable, "manage.py", *words],
        cwd=ROOT,
        env={**kept, "DUSKBOOK_ENVIRONMENT": "ready", "DUSKBOOK_DATA": str(data), **variables},
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_deployment_check_finds_nothing_behind_https(tmp_path):
    told = manage(
        tmp_path,
        *("check", "--deploy", "--fail-level", "WARNING"),
        DUSKBOOK_HTTPS="on",
        DUSKBOOK_HOSTS="duskbook.example.org",
        DUSKBOOK_PROXIES="1",
    )

    assert told.returncode == 0, told.stderr
    assert "WARNINGS" not in told.stderr


def test_two_installs_do_not_share_a_secret_key(tmp_path):
    show = (
        "shell",
        "--no-imports",
        "-c",
        "from django.conf import settings as s; print(s.SECRET_KEY)",
    )

    first, second = (manage(tmp_path / name, *show).stdout.split()[-1] for name in ("a", "b"))

    assert len(first) >= 50
    assert first != second


def test_nothing_is_shown_of_the_inside_unless_it_is_asked_for(tmp_path):
    show = ("shell", "--no-imports", "-c", "from django.conf import settings as s; print(s.DEBUG)")

    assert manage(tmp_path, *show).stdout.split()[-1] == "False"


@pytest.mark.django_db
def test_a_new_book_has_nobody_who_could_sign_in():
    assert not get_user_model().objects.exists()


@pytest.mark.django_db
@pytest.mark.parametrize("password", TRIED_FIRST)
@pytest.mark.parametrize("name", ["admin", "owner", "root", "duskbook"])
def test_no_password_opens_a_new_book(rf, name, password):
    request = rf.post("/accounts/login/")

    assert authenticate(request, username=name, password=password) is None


def test_passwords_are_kept_by_a_slow_hash():
    # The fixtures of the tests hash cheaply, so the file of the settings is read.
    assert written.PASSWORD_HASHERS[0] == "django.contrib.auth.hashers.Argon2PasswordHasher"


def test_a_password_has_fifteen_signs_at_least():
    # NIST SP 800-63B revision 4, read in another's words: fifteen characters where a password is
    # the only proof, common ones refused by a list, no rule of composition.
    named = {each["NAME"].rpartition(".")[2]: each for each in settings.AUTH_PASSWORD_VALIDATORS}

    assert named["MinimumLengthValidator"]["OPTIONS"]["min_length"] >= 15
    assert "CommonPasswordValidator" in named


@pytest.mark.skipif(connection.vendor != "sqlite", reason="reads the PRAGMAs of SQLite")
@pytest.mark.django_db
@pytest.mark.parametrize(
    ("pragma", "value"),
    [
        ("journal_mode", "wal"),
        ("synchronous", 2),  # FULL
        ("foreign_keys", 1),
        ("recursive_triggers", 1),
        ("busy_timeout", 20_000),
    ],
)
def test_sqlite_keeps_what_it_took(pragma, value):
    # A name that is nested wrongly among the options has no effect and gives no error.
    with connection.cursor() as cursor:
        cursor.execute(f"PRAGMA {pragma}")

        assert cursor.fetchone()[0] == value


@pytest.mark.skipif(connection.vendor != "sqlite", reason="asks how SQLite begins a transaction")
def test_sqlite_takes_the_lock_when_a_transaction_begins():
    # A deferred transaction that turns to writing fails at once while another one writes.
    connection.get_connection_params()  # reads the mode, whether or not it was opened before
    assert connection.transaction_mode == "IMMEDIATE"


@pytest.mark.skipif(connection.vendor != "postgresql", reason="reads the settings of PostgreSQL")
@pytest.mark.django_db
@pytest.mark.parametrize("name", ["synchronous_commit", "fsync", "full_page_writes"])
def test_postgresql_keeps_what_it_took(name):
    with connection.cursor() as cursor:
        cursor.execute(f"SHOW {name}")

        assert cursor.fetchone()[0] == "on"

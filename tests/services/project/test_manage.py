"""The environment that manage.py makes: when, from which lock, and what a broken start leaves."""

import subprocess
import sys

import pytest

import manage


@pytest.fixture
def checkout(tmp_path, monkeypatch):
    """A checkout with two locks and no environment; what would be run is written down."""
    ran = []
    for purpose in ("run", "test"):
        lock = tmp_path / f"{purpose}.txt"
        lock.write_text(f"a lock for {purpose}")
        monkeypatch.setitem(manage.LOCKS, purpose, str(lock))
    monkeypatch.setattr(manage, "ENVIRONMENT", str(tmp_path / ".venv"))
    monkeypatch.setattr(manage, "STAMP", str(tmp_path / ".venv" / "duskbook-stamp"))
    monkeypatch.setattr(manage, "python", lambda *words: made(tmp_path, ran, words))
    return ran


def made(tmp_path, ran, words):
    (tmp_path / ".venv").mkdir(exist_ok=True)
    ran.append(words)


def test_only_the_tests_need_the_lock_of_the_tests():
    asked = [["test", "-x"], ["bench"], ["demo"], ["start"], []]

    assert [manage.purpose_of(each) for each in asked] == ["test", "test", "run", "run", "run"]


def test_the_first_start_makes_the_environment_and_the_second_leaves_it(checkout):
    manage.prepare("run")
    manage.prepare("run")

    assert [words[1] for words in checkout] == ["venv", "pip"]
    assert manage.is_prepared_for("run")
    assert not manage.is_prepared_for("test")


def test_the_environment_of_the_tests_serves_everything(checkout):
    manage.prepare("test")

    assert manage.is_prepared_for("run")


def test_a_changed_lock_is_installed_into_the_same_environment(checkout, tmp_path):
    manage.prepare("run")
    (tmp_path / "run.txt").write_text("a newer lock")

    manage.prepare("run")

    assert [words[1] for words in checkout] == ["venv", "pip", "pip"]


def test_another_python_makes_the_environment_anew(checkout, monkeypatch):
    manage.prepare("run")
    monkeypatch.setattr(manage, "python_version", lambda: "3.99")

    manage.prepare("run")

    assert [words[1] for words in checkout] == ["venv", "pip", "venv", "pip"]


def test_a_start_killed_half_way_leaves_no_stamp(checkout, monkeypatch):
    def killed(lock):
        raise KeyboardInterrupt

    monkeypatch.setattr(manage, "install", killed)
    with pytest.raises(KeyboardInterrupt):
        manage.prepare("run")

    assert not manage.is_prepared_for("run")


def test_pip_checks_hashes_and_resolves_nothing(checkout):
    manage.prepare("run")

    assert {"--require-hashes", "--no-deps", "--python"} <= set(checkout[-1])


def test_a_failing_pip_is_told_in_a_sentence(monkeypatch, capsys):
    monkeypatch.setattr(manage, "is_made_by_others", lambda: False)
    monkeypatch.setattr(manage, "is_prepared_for", lambda purpose: False)
    monkeypatch.setattr(
        manage, "prepare", lambda purpose: manage.python("-c", "raise SystemExit(3)")
    )

    code = manage.main(["start"])

    assert code == 1
    assert "a package index that answers" in capsys.readouterr().err


def test_an_old_python_is_told_in_a_sentence(monkeypatch, capsys):
    monkeypatch.setattr(manage, "OLDEST", (9, 0))

    code = manage.main(["start"])

    assert code == 1
    assert "needs Python" in capsys.readouterr().err


def test_packages_that_others_provide_are_left_alone(monkeypatch):
    monkeypatch.setenv("DUSKBOOK_ENVIRONMENT", "ready")

    assert manage.is_made_by_others()


def test_a_wrong_setting_stops_with_a_sentence_and_no_trace():
    command = [sys.executable, manage.__file__, "check"]
    environment = {"DUSKBOOK_ENVIRONMENT": "ready", "DUSKBOOK_HTTPS": "maybe", "PATH": ""}

    ended = subprocess.run(command, env=environment, capture_output=True, text=True, check=False)

    assert ended.returncode == 1
    assert ended.stderr == "DUSKBOOK_HTTPS is 'maybe'; it can be on or off.\n"

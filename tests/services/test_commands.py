"""A command that the system refuses a file says which one and why, before it does anything long."""

import pytest
from django.core.management import CommandError, call_command

from treatments.models import Business

AWAY = "away/file"


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("command", "returncode"),
    [
        (["export_journal", AWAY], 1),
        (["verify", "--checkpoint", AWAY], 2),
        (["verify", "--export", AWAY], 2),
        (["bench", "--json", AWAY], 1),
    ],
)
def test_a_file_that_is_not_there_is_named(command, returncode, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)

    with pytest.raises(CommandError, match=f": {AWAY}: No such file or directory$") as refused:
        call_command(*command)

    assert refused.value.returncode == returncode


@pytest.mark.django_db
@pytest.mark.parametrize("words", [["demo", "--once", "--out"], ["backup", "--to"]])
def test_a_folder_that_is_a_file_is_named(words, tmp_path):
    (tmp_path / "taken").touch()

    with pytest.raises(CommandError, match=r"taken/papers: Not a directory$|taken: File exists$"):
        call_command(*words, str(tmp_path / "taken" / "papers"))

    assert not Business.objects.exists()

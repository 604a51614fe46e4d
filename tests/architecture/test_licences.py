"""Every locked package may be used: its licence, as its own metadata tells it, is one of these.

Names are those of the SPDX list where a package gives them, else those of the package index's
classifiers, else what the package writes itself.
"""

import re
import runpy
from importlib import metadata
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LOCKS = ["docker/requirements.txt", "docker/requirements.postgres.txt", "tests/requirements.txt"]
PERMISSIVE = {
    "0BSD",
    "Apache 2",
    "Apache 2.0",
    "Apache Software License",
    "Apache-2.0",
    "BSD",
    "BSD 3-Clause OR Apache-2.0",
    "BSD License",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "BSD-3-Clause, Apache-2.0, dependency licenses",
    "CC0-1.0",
    "MIT",
    "MIT License",
    "MIT-0",
    "MIT-CMU",
    "PSF-2.0",
    "Python Software Foundation License",
    "Zlib",
    "Zope Public License",
}
# Each stands beside the program, unchanged, and asks nothing of who uses it so.
BY_NAME = {
    "certifi": "Mozilla Public License 2.0 (MPL 2.0)",
    "hypothesis": "MPL-2.0",
    "pathspec": "Mozilla Public License 2.0 (MPL 2.0)",
    "psycopg": "LGPL-3.0-only",
    "psycopg-binary": "LGPL-3.0-only",
    "psycopg-pool": "LGPL-3.0-only",
    "tqdm": "MPL-2.0",
}


def locked():
    texts = [(ROOT / lock).read_text(encoding="utf-8") for lock in LOCKS]
    return sorted({name for text in texts for name in re.findall(r"^([\w.-]+)==", text, re.M)})


def licences_of(name):
    """Return the licences that all hold for a package; of a choice, the first permissive one."""
    told = metadata.metadata(name)
    if expression := told.get("License-Expression"):
        return [a_choice(part) for part in expression.split(" AND ")]
    classifiers = [each for each in told.get_all("Classifier") or [] if each.startswith("License")]
    if classifiers:
        return [each.rpartition(" :: ")[2] for each in classifiers]
    plain = (told.get("License") or "").strip()
    return plain.split(" AND ") if plain else []


def a_choice(part):
    choices = part.strip("()").split(" OR ")
    return next((each for each in choices if each in PERMISSIVE), choices[0])


@pytest.mark.parametrize("name", locked())
def test_a_locked_package_may_be_used(name):
    licences = licences_of(name)

    assert licences, "The package tells no licence."
    assert set(licences) <= PERMISSIVE | {BY_NAME.get(name, "")}


def test_no_exception_is_left_over():
    assert set(BY_NAME) <= set(locked())
    assert all(BY_NAME[name] in licences_of(name) for name in BY_NAME)


AUDIT = runpy.run_path(str(ROOT / ".ci" / "audit.py"))
HOLE = {"id": "PYSEC-0000-1", "fix_versions": ["2.0"]}


@pytest.mark.parametrize(
    ("told", "found", "unasked", "said"),
    [
        (None, 0, 1, "NOT CHECKED"),
        ({"dependencies": []}, 0, 1, "NOT CHECKED"),
        ({"dependencies": [{"name": "a", "skip_reason": "not found"}]}, 0, 2, "NOT CHECKED"),
        ({"dependencies": [{"name": "a", "version": "1.0", "vulns": []}]}, 0, 0, "1 packages"),
        ({"dependencies": [{"name": "a", "version": "1.0", "vulns": [HOLE]}]}, 1, 0, "2.0"),
    ],
)
def test_what_was_not_asked_is_never_passed_over(told, found, unasked, said):
    lines, *counted = AUDIT["verdict"]("a lock", told)

    assert counted == [found, unasked]
    assert any(said in line for line in lines)

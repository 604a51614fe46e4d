"""Every sentence has its Spanish, with the same places, and both files of the catalogue agree."""

import ast
import re
import shutil
import subprocess
from pathlib import Path

import polib
import pytest
from django.core.management.commands.makemessages import Command
from django.utils.translation.template import templatize

ROOT = Path(__file__).resolve().parents[2]
CATALOGUE = ROOT / "services" / "project" / "locale" / "es" / "LC_MESSAGES"
PACKAGES = ("clients", "services", "treatments")
KEYWORDS = [
    "gettext_noop",
    "gettext_lazy",
    "ngettext_lazy:1,2",
    "pgettext:1c,2",
    "npgettext:1c,2,3",
    "pgettext_lazy:1c,2",
    "npgettext_lazy:1c,2,3",
]
MARKS = {"gettext", "gettext_lazy", "gettext_noop", "ngettext", "ngettext_lazy"}
PLACE = re.compile(r"%\(\w+\)[-#0 +]*[\d.]*[sdf]|%%|\{\w*\}|</?\w+[^>]*>")


@pytest.fixture(scope="module")
def catalogue():
    return polib.pofile(CATALOGUE / "django.po")


def named(entry):
    return entry.msgctxt, entry.msgid, entry.msgid_plural


def translations(entry):
    """Return the pairs of an English text and the Spanish that stands for it."""
    if not entry.msgid_plural:
        return [(entry.msgid, entry.msgstr)]
    texts = (entry.msgid, entry.msgid_plural)
    return list(zip(texts, (entry.msgstr_plural[0], entry.msgstr_plural[1]), strict=True))


def gathered(folder):
    """Copy modules, and templates as modules, into a folder; return what was copied."""
    copies = []
    for package in PACKAGES:
        for path in sorted((ROOT / package).rglob("*")):
            if path.suffix not in {".py", ".html"} or "locale" in path.parts:
                continue
            text = path.read_text(encoding="utf-8")
            copy = folder / f"{len(copies)}{path.suffix}.py"
            copy.write_text(templatize(text, str(path)) if path.suffix == ".html" else text)
            copies.append(copy)
    return copies


def extracted(folder):
    """Return the entries that are marked in the code now."""
    names = folder / "names"
    names.write_text("\n".join(map(str, gathered(folder))))
    command = ["xgettext", *Command.xgettext_options, "--language=Python", "--output=-"]
    command += [f"--keyword={keyword}" for keyword in KEYWORDS] + [f"--files-from={names}"]
    found = subprocess.run(command, check=True, capture_output=True, encoding="utf-8")
    return polib.pofile(found.stdout)


def marked_in(path):
    """Yield line and sentence of each call that marks a sentence."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.args:
            told = node.args[0]
            is_mark = node.func.id == "_" or node.func.id in MARKS
            if is_mark and isinstance(told, ast.Constant) and isinstance(told.value, str):
                yield node.lineno, told.value


@pytest.mark.skipif(shutil.which("xgettext") is None, reason="gettext is not installed")
def test_every_marked_sentence_stands_in_the_catalogue(catalogue, tmp_path):
    kept = {named(entry) for entry in catalogue}

    missing = [entry.msgid for entry in extracted(tmp_path) if named(entry) not in kept]

    assert missing == []


def test_no_sentence_is_marked_where_gettext_does_not_look(catalogue):
    """Marks within the braces of a text are read by Python alone."""
    kept = {entry.msgid for entry in catalogue}

    missing = [
        f"{path.relative_to(ROOT)}:{line} {sentence}"
        for package in PACKAGES
        for path in (ROOT / package).rglob("*.py")
        for line, sentence in marked_in(path)
        if sentence not in kept
    ]

    assert missing == []


def test_every_entry_has_its_spanish(catalogue):
    untold = [entry.msgid for entry in catalogue if not all(t for _, t in translations(entry))]

    assert untold == []
    assert [entry.msgid for entry in catalogue if entry.fuzzy or entry.obsolete] == []


def test_a_translation_has_the_places_of_its_sentence(catalogue):
    wrong = [
        entry.msgid
        for entry in catalogue
        for text, told in translations(entry)[-1:]
        if sorted(PLACE.findall(text)) != sorted(PLACE.findall(told))
    ]

    assert wrong == []


def test_a_singular_has_no_place_that_its_plural_lacks(catalogue):
    wrong = [
        entry.msgid
        for entry in catalogue
        if entry.msgid_plural
        and not set(PLACE.findall(entry.msgstr_plural[0])) <= set(PLACE.findall(entry.msgid_plural))
    ]

    assert wrong == []


def test_a_translation_keeps_the_spaces_and_lines_at_its_ends(catalogue):
    wrong = [
        text
        for entry in catalogue
        for text, told in translations(entry)
        if text[:1].isspace() != told[:1].isspace() or text[-1:].isspace() != told[-1:].isspace()
    ]

    assert wrong == []


def test_the_compiled_catalogue_says_what_the_written_one_says(catalogue):
    compiled = polib.mofile(CATALOGUE / "django.mo")

    assert {named(entry): translations(entry) for entry in compiled} == {
        named(entry): translations(entry) for entry in catalogue
    }

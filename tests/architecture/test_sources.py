"""Every source that a rule, a table or a check cites is listed, and every listed one is cited."""

import ast
import io
import json
import re
import tokenize
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LISTED = ROOT / "treatments" / "SOURCES.md"
RULES = ROOT / "treatments" / "rules"
CITING = [
    RULES,
    ROOT / "services" / "rules",
    ROOT / "services" / "sheets",
    ROOT / "tests" / "treatments",
    ROOT / "tests" / "services",
    ROOT / "tests" / "reference",
]
# A key holds a letter and begins with two signs at least, so that [0] and [A-Z] are none.
KEY = re.compile(r"\[((?=[A-Z0-9-]*[A-Z])[A-Z0-9]{2,}(?:-[A-Z0-9]+)*)\]")
ENTRY = re.compile(r"^- \*\*\[([A-Z0-9-]+)\]\*\* (.+)$", re.MULTILINE)
NO_KEYS = {"label", "common practice", ""}


def files(ending):
    return [path for folder in CITING for path in sorted(folder.rglob(f"*.{ending}"))]


def listed():
    return ENTRY.findall(LISTED.read_text(encoding="utf-8"))


def said_in(path):
    """Return the comments and texts of a module, where keys are cited, without its code."""
    source = io.StringIO(path.read_text(encoding="utf-8"))
    kinds = {tokenize.COMMENT, tokenize.STRING}
    return " ".join(t.string for t in tokenize.generate_tokens(source.readline) if t.type in kinds)


def keys_in_modules():
    return {key for path in files("py") for key in KEY.findall(said_in(path))}


def sources_of_findings():
    """Return the texts that rules hand over as a source, which stand without brackets."""
    known = {key for key, _ in listed()}
    return {
        node.value
        for path in sorted(RULES.rglob("*.py"))
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and node.value in known
    }


def sources_in(value):
    """Yield every value of a table whose name ends in "source"."""
    if isinstance(value, dict):
        for name, inner in value.items():
            if name.endswith("source") and isinstance(inner, str):
                yield inner
            else:
                yield from sources_in(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from sources_in(inner)


def keys_in_tables():
    tables = RULES / "tables"
    keys = set()
    for path in sorted(tables.glob("*.toml")):
        text = path.read_text(encoding="utf-8")
        comments = " ".join(line.partition("#")[2] for line in text.splitlines())
        keys |= set(KEY.findall(comments)) | set(sources_in(tomllib.loads(text)))
    rulesets = json.loads((tables / "rulesets.json").read_text(encoding="utf-8"))
    keys |= set(sources_in(rulesets["rulesets"]))
    return keys - NO_KEYS


def cited():
    return keys_in_modules() | sources_of_findings() | keys_in_tables()


def test_every_cited_source_is_listed():
    assert sorted((keys_in_modules() | keys_in_tables()) - {key for key, _ in listed()}) == []


def test_every_listed_source_is_cited():
    assert sorted({key for key, _ in listed()} - cited()) == []


def test_no_source_is_listed_twice():
    keys = [key for key, _ in listed()]

    assert sorted(key for key in set(keys) if keys.count(key) > 1) == []


@pytest.mark.parametrize(("key", "entry"), listed())
def test_an_entry_says_whether_it_was_read(key, entry):
    words = entry.casefold()

    assert any(word in words for word in ("read", "memory", "after", "computed")), key
    assert "common practice" not in words


def sources_named(path):
    """Yield the texts given as `source=` to a finding in a module."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        is_source = isinstance(node, ast.keyword) and node.arg == "source"
        if is_source and isinstance(node.value, ast.Constant):
            yield node.value.value


def test_a_finding_names_a_listed_source():
    allowed = {key for key, _ in listed()} | NO_KEYS
    named = {source for path in sorted(RULES.rglob("*.py")) for source in sources_named(path)}

    assert sorted({each for each in named if isinstance(each, str)} - allowed) == []

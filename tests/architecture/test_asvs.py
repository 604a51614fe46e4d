"""What the verification standard for applications asks: each answer is there, each gap is said."""

import ast
import re
import tomllib
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
LINES = tomllib.loads(Path(__file__).with_name("asvs.toml").read_text(encoding="utf-8"))["line"]
# Chapters of ASVS 5.0.0 that concern this program; 10 (outside identity) and 17 (WebRTC) do not.
CHAPTERS = {1, 2, 3, 4, 5, 6, 7, 8, 9, 11, 12, 13, 14, 15, 16}


@cache
def functions_of(path):
    tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    return {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}


@pytest.mark.parametrize("answer", sorted({each for line in LINES for each in line.get("by", [])}))
def test_what_answers_a_requirement_is_there(answer):
    path, _, function = answer.partition("::")

    assert (ROOT / path).exists()
    assert not function or function in functions_of(path)


def test_each_requirement_is_answered_or_said_to_be_open():
    silent = [line["ids"] for line in LINES if not line.get("by") and not line.get("lacks")]

    assert not silent


def test_each_requirement_stands_once_by_its_own_number():
    ids = [each for line in LINES for each in line["ids"]]

    assert len(ids) == len(set(ids))
    assert all(re.fullmatch(r"\d{1,2}\.\d{1,2}\.\d{1,2}", each) for each in ids)
    assert {int(each.partition(".")[0]) for each in ids} == CHAPTERS

"""The benchmarks are held against their baseline: what got worse is named, and what failed."""

import json
from io import StringIO

import pytest
from django.core.management import CommandError, call_command

from services.management.commands import bench

MEASURES = """
def test_one(record_property):
    record_property("a thing", 0.40)

def test_two(record_property):
    record_property("another", {share})
    assert {holds}
"""


@pytest.fixture
def benchmarks(tmp_path, monkeypatch):
    """Write a benchmark of two figures, without a baseline."""
    monkeypatch.setattr(bench, "FOLDER", tmp_path)
    monkeypatch.setattr(bench, "BASELINE", tmp_path / "baseline.json")

    def write(share=0.9, holds=True):
        text = MEASURES.format(share=share, holds=holds)
        (tmp_path / "bench_things.py").write_text(text, encoding="utf-8")

    write()
    return write


def run(**options):
    out = StringIO()
    call_command("bench", stdout=out, stderr=StringIO(), **options)
    return out.getvalue()


def test_the_figures_are_told_kept_and_compared(benchmarks, tmp_path):
    told = run(keep=True, json=tmp_path / "figures.json")

    assert "0.40" in told
    assert "another" in told
    kept = json.loads((tmp_path / "baseline.json").read_text(encoding="utf-8"))
    assert kept["shares"] == {"a thing": 0.4, "another": 0.9}
    assert kept["machine"]["cores"] >= 1
    assert (tmp_path / "figures.json").read_text() == (tmp_path / "baseline.json").read_text()
    run()


def test_what_got_worse_by_more_than_fifteen_per_cent_is_named(benchmarks):
    run(keep=True)
    benchmarks(share=1.05)

    with pytest.raises(CommandError, match=r"another: 0\.90 before, 1\.05 now") as wrong:
        run()
    assert wrong.value.returncode == 1


def test_one_that_failed_is_named_with_its_figures(benchmarks):
    benchmarks(holds=False)

    with pytest.raises(CommandError, match=r"bench_things\.py failed"):
        run()

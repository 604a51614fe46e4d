"""`manage.py bench`: run the benchmarks one after another, and hold them against the baseline.

Each benchmark tells by pytest's `record_property` which share of its bar it took: 0.5 is half of
what is allowed, above 1 is too much.  The bars, and what is measured side by side, stand in the
benchmarks themselves.
"""

import json
import os
import platform
import subprocess
import sys
import tempfile
from pathlib import Path

from defusedxml import ElementTree
from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.db import connection

from services.management.files import told_plainly

FOLDER = Path(settings.CHECKOUT) / "tests" / "benchmarks"
BASELINE = FOLDER / "baseline.json"
QUICK = ("bench_composing.py", "bench_findings.py", "bench_forecasting.py", "bench_proposing.py")
WORSE_BY = 0.15


class Command(BaseCommand):
    """Ends with 1 where a benchmark failed or a figure got worse by more than 15 per cent."""

    help = "Run the benchmarks, with nothing else at work, and compare them with the baseline."
    requires_system_checks = []

    def add_arguments(self, parser):
        parser.add_argument("--quick", action="store_true", help="only those of a few minutes")
        parser.add_argument("--json", type=Path, metavar="FILE", help="write the figures to a file")
        parser.add_argument("--keep", action="store_true", help="make them the new baseline")

    def handle(self, *, quick, json: Path | None, keep, **options):
        if not FOLDER.is_dir():
            raise CommandError("The benchmarks stand in a checkout, and this is none.")
        if json:
            with told_plainly("The figures cannot be written"):
                json.touch()
        shares: dict[str, float] = {}
        failed: list[str] = []
        for file in QUICK if quick else sorted(path.name for path in FOLDER.glob("bench_*.py")):
            self.stderr.write(file)
            told, passed = figures_of(FOLDER / file)
            shares.update(told)
            failed += [] if passed else [file]
        before = read_baseline()
        self.stdout.write(table(shares, before))
        for path in [json, BASELINE if keep else None]:
            if path:
                path.write_text(as_json(shares), encoding="utf-8")
        worse = worse_than(before, shares)
        if failed or worse:
            raise CommandError(complaint(failed, worse), returncode=1)


def figures_of(path: Path) -> tuple[dict[str, float], bool]:
    """Run a benchmark by itself; return the shares that it told, and whether it passed."""
    with tempfile.TemporaryDirectory() as folder:
        told = Path(folder) / "told.xml"
        words = ["-m", "pytest", "-q", "-p", "no:cacheprovider", "-o", "junit_family=xunit1"]
        words += [f"--junitxml={told}", str(path)]
        ended = subprocess.run(
            [sys.executable, *words], cwd=settings.CHECKOUT, stdout=sys.stderr, check=False
        )
        tree = ElementTree.parse(told)
    properties = (each.attrib for each in tree.iter("property"))
    return {each["name"]: float(each["value"]) for each in properties}, not ended.returncode


def machine() -> dict[str, str | int]:
    """Return what the figures depend on."""
    return {
        "cores": len(os.sched_getaffinity(0)),
        "python": platform.python_version(),
        "database": connection.vendor,
    }


def read_baseline() -> dict[str, float]:
    """Return the shares of the baseline, none without one."""
    if not BASELINE.exists():
        return {}
    return json.loads(BASELINE.read_text(encoding="utf-8"))["shares"]


def worse_than(before: dict[str, float], now: dict[str, float]) -> dict[str, tuple[float, float]]:
    """Return the figures that got worse by more than 15 per cent: before and now.

    >>> worse_than({"a": 0.40, "b": 0.40}, {"a": 0.46, "b": 0.47, "c": 2.0})
    {'b': (0.4, 0.47)}
    """
    limit = 1 + WORSE_BY
    return {
        name: (before[name], share)
        for name, share in now.items()
        if name in before and round(share, 3) > round(before[name] * limit, 3)
    }


def table(shares: dict[str, float], before: dict[str, float]) -> str:
    """Return the figures as a table: share of the bar, and the share in the baseline."""
    facts = ", ".join(f"{name} {told}" for name, told in machine().items())
    lines = [facts, f"{'of its bar':>10}  {'baseline':>8}  what"]
    for name, share in sorted(shares.items()):
        known = f"{before[name]:8.2f}" if name in before else f"{'-':>8}"
        lines.append(f"{share:10.2f}  {known}  {name}")
    return "\n".join(lines)


def complaint(failed: list[str], worse: dict[str, tuple[float, float]]) -> str:
    """Return what is wrong, benchmark by benchmark."""
    parts = [f"{file} failed." for file in failed]
    parts += [f"{name}: {was:.2f} before, {now:.2f} now." for name, (was, now) in worse.items()]
    return " ".join(parts)


def as_json(shares: dict[str, float]) -> str:
    """Return the figures as JSON, the same for the same ones."""
    told = {"machine": machine(), "shares": shares}
    return json.dumps(told, indent=2, sort_keys=True) + "\n"

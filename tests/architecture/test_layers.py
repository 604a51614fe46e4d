"""Imports run one way; the contracts stand in pyproject.toml."""

import subprocess
import sys
import tomllib
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CHECK = "from importlinter.cli import lint_imports; raise SystemExit(lint_imports(no_cache=True))"


def contracts():
    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    return settings["tool"]["importlinter"]["contracts"]


def test_every_contract_is_kept():
    # In a process of its own, for the check changes what can be imported.
    told = subprocess.run(
        [sys.executable, "-c", CHECK], cwd=ROOT, capture_output=True, text=True, check=False
    )

    assert told.returncode == 0, told.stdout + told.stderr
    assert f"Contracts: {len(contracts())} kept, 0 broken." in told.stdout


def test_services_stand_on_treatments_and_treatments_on_clients():
    (layers,) = [each["layers"] for each in contracts() if each["type"] == "layers"]

    assert layers == ["services", "treatments", "clients"]

"""Asks the package index which known vulnerabilities the locked packages have.

Ends with 1 where there are any.  What could not be asked - no network, a package that the index
does not know - is said and counted, never passed over; with --strict it ends with 2.
"""

import json
import subprocess
import sys
import tempfile
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
LOCKS = [
    "docker/requirements.txt",
    "docker/requirements.postgres.txt",
    "tests/requirements.txt",
    "tests/requirements.browser.txt",
]
PATIENCE = 300  # seconds for a lock


def asked(program, lock):
    """Return what the index says of a lock, or None where it cannot be asked."""
    words = ["--disable-pip", "--require-hashes", "--format", "json", "--progress-spinner", "off"]
    try:
        said = subprocess.run(
            [program, *words, "--requirement", ROOT / lock],
            capture_output=True,
            text=True,
            timeout=PATIENCE,
            check=False,
        )
        return json.loads(said.stdout)
    except (OSError, ValueError, subprocess.TimeoutExpired):
        return None


def verdict(lock, told):
    """Return the lines that tell of a lock, its vulnerabilities, and what was not asked, counted.

    told: what the index says, or None
    """
    if told is None:
        return [f"{lock}: NOT CHECKED, the index could not be asked."], 0, 1
    lines, found, unasked = [], 0, 0
    for each in told["dependencies"]:
        unasked += "skip_reason" in each
        for hole in each.get("vulns", []):
            found += 1
            fixed = ", ".join(hole["fix_versions"]) or "no version yet"
            lines.append(f"{each['name']} {each['version']}: {hole['id']}; mended in {fixed}")
    checked = len(told["dependencies"]) - unasked
    lines.insert(0, f"{lock}: {checked} packages asked after, {found} known vulnerabilities.")
    if unasked or not checked:
        lines.append(f"{lock}: {unasked} packages NOT CHECKED, the index does not tell of them.")
    return lines, found, unasked + (not checked)


def installed(folder):
    """Return where pip-audit is, in an environment of its own; nothing is there without a net."""
    venv.create(folder, with_pip=True)
    python = Path(folder) / "bin" / "python"
    words = ["-m", "pip", "--quiet", "--retries", "1", "--timeout", "20", "install", "pip-audit"]
    subprocess.run([python, *words], capture_output=True, check=False)
    return Path(folder) / "bin" / "pip-audit"


def main(words):
    """Ask after each lock, and say what came of it."""
    found = unasked = 0
    with tempfile.TemporaryDirectory() as folder:
        program = installed(folder)
        for lock in LOCKS:
            lines, holes, gaps = verdict(lock, asked(program, lock))
            sys.stdout.write("\n".join(lines) + "\n")
            found, unasked = found + holes, unasked + gaps
    if found:
        return 1
    return 2 if unasked and "--strict" in words else 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

"""Changes a rule in one place at a time, and says which changes no test of the rules notices.

    python -m tests.mutants treatments/rules/labels/intervals.py [--every 3] [--first 1]

Those tests under tests/PACKAGE/rules are asked that are called like the module or that import it,
or a package that it lies in, and the examples of its own docstrings; where no test does, those of
the rules that import it.  Of the changes, every nth is tried.  A change that no test notices is
printed with its line; each wants a test, or a reason in mutating/same.toml why it means the same.
Run by name, never with the other tests: it takes a process for each change.
"""

import argparse
import re
import sys
import tomllib
from pathlib import Path

from tests.mutating.asking import Asked
from tests.mutating.changes import changed, changes_of

ROOT = Path(__file__).resolve().parents[1]
SAME = ROOT / "tests" / "mutating" / "same.toml"


def tests_of(module):
    """Return the tests of a module; where it has none, those of the rules that import it."""
    rules = ROOT / module.relative_to(ROOT).parts[0] / "rules"
    own = set(telling_of(module, (ROOT / "tests" / rules.relative_to(ROOT)).rglob("test_*.py")))
    beside = [] if own else telling_of(module, rules.rglob("*.py"))
    return sorted(own.union(*(tests_of(each) for each in beside if each != module)))


def telling_of(module, files):
    """Return the files that are called like the tests of a module or import it.

    To import a package that it lies in counts too, as its names are reached by it.
    """
    parts = module.relative_to(ROOT).with_suffix("").parts
    names = [".".join(parts[:end]) for end in range(len(parts), 2, -1)]
    asks = re.compile("|".join(rf"\b{re.escape(name)}(?![.\w])" for name in names))
    apart = re.compile(rf"\bfrom {re.escape('.'.join(parts[:-1]))} import .*\b{parts[-1]}\b")
    return [
        file
        for file in files
        if file.name.startswith(f"test_{parts[-1]}")
        or asks.search(text := file.read_text(encoding="utf-8"))
        or apart.search(text)
    ]


def reasons():
    """Return why changes mean the same, by module, text of the line, what is changed and which."""
    told = tomllib.loads(SAME.read_text(encoding="utf-8"))["same"]
    return {
        (group["module"], line, what, *(which or [1])): group["why"]
        for group in told
        for line, what, *which in group["changes"]
    }


def tried(module, every, first):
    """Try every nth change of a module; return how many noticed, explained, and those neither."""
    source, place, known = (
        module.read_text(encoding="utf-8"),
        str(module.relative_to(ROOT)),
        reasons(),
    )
    asked, noticed, explained, unseen = Asked(module, tests_of(module)), 0, 0, []
    for change in changes_of(source)[first::every]:
        is_known = (place, change.text, change.what, change.which) in known
        if asked.is_noticed(changed(source, change)):
            noticed += 1
            if is_known:
                unseen.append(
                    f"{place}:{change.line} {change.what}: noticed, yet told to be the same"
                )
        elif is_known:
            explained += 1
        else:
            unseen.append(f"{place}:{change.line} {change.what} ({change.which}): {change.text}")
    return noticed, explained, unseen


def main():
    """Try the modules that are named, and say what was not noticed."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("modules", nargs="+", type=Path)
    asked.add_argument("--every", type=int, default=1)
    asked.add_argument("--first", type=int, default=0)
    told = asked.parse_args()
    for module in told.modules:
        noticed, explained, unseen = tried(module.resolve(), told.every, told.first)
        count = noticed + explained + len(unseen)
        head = f"{module}: {noticed} of {count} noticed, {explained} of the others mean the same"
        sys.stdout.write("\n".join([head, *unseen]) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main()

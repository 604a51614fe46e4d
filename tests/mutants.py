"""Changes a rule in one place at a time, and says which changes no test of the rules notices.

    python tests/mutants.py treatments/rules/labels/intervals.py [--every 3] [--tests PATH ...]

Without --tests those under tests/PACKAGE/rules are asked that are called like the module or that
import it, or a package that it lies in, and the examples of its own docstrings; where no test does,
those of the rules that import it.  Of the changes,
every nth is tried.  A change that no test notices is printed with its line; each wants a test, or
a reason why it means the same.  Run by name, never with the other tests: it takes a process for
each change.
"""

import argparse
import ast
import os
import re
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
LONGEST = 120  # seconds that the tests may take with one change
SWAPS = {
    ast.Lt: ast.LtE,
    ast.LtE: ast.Lt,
    ast.Gt: ast.GtE,
    ast.GtE: ast.Gt,
    ast.Eq: ast.NotEq,
    ast.NotEq: ast.Eq,
    ast.In: ast.NotIn,
    ast.NotIn: ast.In,
    ast.Is: ast.IsNot,
    ast.IsNot: ast.Is,
    ast.And: ast.Or,
    ast.Or: ast.And,
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
}
# Runs examples and tests with one module read from elsewhere, though it is told its own place; no
# database, no Django behind them.
ALONE = """
import sys, doctest, importlib.machinery, importlib.util
from pathlib import Path
name, source = sys.argv[1], sys.argv[2]
class Changed(importlib.machinery.SourceFileLoader):
    def exec_module(self, module):
        module.__file__ = str(Path(*name.split(".")).with_suffix(".py").resolve())
        super().exec_module(module)
class Instead:
    def find_spec(self, asked, path=None, target=None):
        if asked != name:
            return None
        return importlib.util.spec_from_loader(name, Changed(name, source))
sys.meta_path.insert(0, Instead())
examples = doctest.testmod(importlib.import_module(name))
tests = sys.argv[3:]
if examples.failed or not tests:
    sys.exit(examples.failed or not examples.attempted)
import pytest
options = ["-x", "-q", "--noconftest", "-p", "no:django", "-p", "no:cacheprovider"]
options += ["-p", "tests.untimed"]
options += ["-c", "/dev/null", "--rootdir", ".", "--import-mode", "importlib"]
homes = {Path("tests", name.partition(".")[0], "rules")}
homes |= {Path(each).resolve().parent.relative_to(Path.cwd()) for each in tests}
for home in sorted(each for each in homes if (each / "conftest.py").exists()):
    options += ["-p", ".".join([*home.parts, "conftest"])]
sys.exit(pytest.main([*options, *tests]))
"""


class Change(ast.NodeTransformer):
    """Changes the nth thing that can be changed, and notes where it stood."""

    def __init__(self, nth):
        self.left, self.line, self.what = nth, 0, ""

    def is_it(self, node, what):
        """Count a thing that can be changed; say whether it is the one."""
        self.left -= 1
        if self.left != -1:
            return False
        self.line, self.what = node.lineno, what
        return True

    def visit_FunctionDef(self, node):
        """Leave defaults and annotations as they are: they are told, not reckoned."""
        node.body = [self.visit(each) for each in node.body]
        return node

    def visit_ClassDef(self, node):
        """Leave decorators and defaults of fields as they are: they too are told."""
        node.body = [
            each if isinstance(each, ast.AnnAssign) else self.visit(each) for each in node.body
        ]
        return node

    def visit_Compare(self, node):
        """Turn each comparison."""
        self.generic_visit(node)
        for place, op in enumerate(node.ops):
            other = SWAPS.get(type(op))
            if other and self.is_it(node, f"{type(op).__name__} to {other.__name__}"):
                node.ops[place] = other()
        return node

    def visit_BoolOp(self, node):
        """Turn and to or, or to and."""
        self.generic_visit(node)
        if self.is_it(node, "and / or"):
            node.op = SWAPS[type(node.op)]()
        return node

    def visit_BinOp(self, node):
        """Turn plus to minus, times to divided by."""
        self.generic_visit(node)
        other = SWAPS.get(type(node.op))
        if other and self.is_it(node, f"{type(node.op).__name__} to {other.__name__}"):
            node.op = other()
        return node

    def visit_UnaryOp(self, node):
        """Take a not away."""
        self.generic_visit(node)
        is_not = isinstance(node.op, ast.Not)
        return node.operand if is_not and self.is_it(node, "not taken away") else node

    def visit_Constant(self, node):
        """Add one to a whole number, turn true to false."""
        if isinstance(node.value, bool) and self.is_it(node, f"{node.value} turned"):
            return ast.copy_location(ast.Constant(not node.value), node)
        is_whole = type(node.value) is int
        if is_whole and self.is_it(node, f"{node.value} to {node.value + 1}"):
            return ast.copy_location(ast.Constant(node.value + 1), node)
        return node


def changed(source, nth):
    """Return a module with its nth change, where it stands and what it is; None after the last."""
    change = Change(nth)
    tree = ast.fix_missing_locations(change.visit(ast.parse(source)))
    return (ast.unparse(tree), change.line, change.what) if change.what else None


def is_noticed(name, source, tests):
    """Say whether the tests fail with a module as it is told."""
    words = [sys.executable, "-c", ALONE, name, str(source), *map(str, tests)]
    try:
        done = subprocess.run(
            words, cwd=ROOT, env=os.environ | {"PYTHONPATH": "."}, capture_output=True,
            timeout=LONGEST, check=False,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return True
    return done.returncode != 0


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


def tried(module, every, tests, folder):
    """Try every nth change of a module; return how many were noticed, and those that were not."""
    source, noticed, unseen = module.read_text(encoding="utf-8"), 0, []
    name = ".".join(module.relative_to(ROOT).with_suffix("").parts)
    copy = folder / f"{module.stem}_changed.py"
    copy.write_text(source, encoding="utf-8")
    if is_noticed(name, copy, tests):
        raise SystemExit(f"{name}: the tests fail without a change, or there are none.")
    nth = 0
    while (change := changed(source, nth)) is not None:
        text, line, what = change
        copy.write_text(text, encoding="utf-8")
        if is_noticed(name, copy, tests):
            noticed += 1
        else:
            unseen.append(f"{module.relative_to(ROOT)}:{line} {what}")
        nth += every
    return noticed, unseen


def main():
    """Try the modules that are named, and say what was not noticed."""
    from tempfile import TemporaryDirectory

    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("modules", nargs="+", type=Path)
    asked.add_argument("--every", type=int, default=1)
    asked.add_argument("--tests", nargs="*", type=Path, default=[])
    told = asked.parse_args()
    with TemporaryDirectory() as folder:
        for module in told.modules:
            path = module.resolve()
            tests = told.tests or tests_of(path)
            noticed, unseen = tried(path, told.every, tests, Path(folder))
            lines = [f"{module}: {noticed} of {noticed + len(unseen)} noticed", *unseen]
            sys.stdout.write("\n".join(lines) + "\n")
            sys.stdout.flush()


if __name__ == "__main__":
    main()

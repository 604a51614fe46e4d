"""Asks the tests of a module whether they notice a change of it.

One process imports all but the module and what stands on it; each change is tried in a copy of that
process, which imports the rest.  No Django stands behind the tests, and no database.
"""

import ast
import doctest
import importlib
import os
import resource
import sys
from collections import Counter
from contextlib import suppress
from importlib.machinery import SourceFileLoader
from importlib.util import spec_from_file_location
from multiprocessing import get_context
from pathlib import Path

import pytest
from hypothesis import Phase, settings

ROOT = Path(__file__).resolve().parents[2]
OPTIONS = [
    "-x", "-q", "--noconftest", "-p", "no:django", "-p", "no:cacheprovider", "-c", "/dev/null",
    "--rootdir", ".", "--import-mode", "importlib",
]  # fmt: skip
LONGEST = 3600  # seconds to wait for an answer, of a machine that is busy
MEMORY = 3 << 30
PACKAGES = ["clients", "treatments", "services"]
COPIES = get_context("fork")


class NotYet(ImportError):
    """A module is not to be imported before it is changed."""


class Instead(SourceFileLoader):
    """Gives one module another content; without one, says that it is not there yet."""

    def __init__(self, name, path, tree=None):
        super().__init__(name, str(path))
        self.tree = tree

    def find_spec(self, asked, path=None, target=None):
        """Answer for the one module alone."""
        if asked != self.name:
            return None
        if self.tree is None:
            raise NotYet(self.name)
        return spec_from_file_location(asked, self.path, loader=self)

    def get_code(self, fullname):
        """Return the changed module."""
        return compile(self.tree, self.path, "exec")


class Order:
    """Asks first what noticed most so far, then what is quickest; tells what fails."""

    def __init__(self, noticed, seconds):
        self.noticed, self.seconds = noticed, seconds
        self.took, self.failed = Counter(), ""

    def pytest_collection_modifyitems(self, items):
        """Put the tests in order."""
        items.sort(key=lambda item: (-self.noticed[item.nodeid], self.seconds.get(item.nodeid, 0)))

    def pytest_runtest_logreport(self, report):
        """Note how long a test took and whether it failed."""
        self.took[report.nodeid] += report.duration
        if report.failed:
            self.failed = self.failed or report.nodeid


class Asked:
    """The tests of one module, asked time and again."""

    def __init__(self, module, tests):
        self.path, self.tests = module, tests
        parts = module.relative_to(ROOT).with_suffix("").parts
        self.name = ".".join(parts[:-1] if parts[-1] == "__init__" else parts)
        self.noticed, self.seconds, self.limit = Counter(), {}, LONGEST
        self.make_ready()

    def make_ready(self):
        """Import what the tests import, as far as it can be without the module; see them pass."""
        forget(PACKAGES)
        modules = self.unchanged()["modules"]
        absent = Instead(self.name, self.path)
        sys.meta_path.insert(0, absent)
        missed = [each for each in modules if not is_importable(each)]
        sys.meta_path.remove(absent)
        forget(missed)
        answer = self.unchanged()
        self.seconds, self.limit = answer["seconds"], round(10 + 5 * answer["processor"])

    def unchanged(self):
        """Return what the tests say of the module as it is, which is nothing."""
        answer = self.answer(ast.parse(self.path.read_text(encoding="utf-8")))
        if answer is None or answer["failed"]:
            why = answer["failed"] if answer else "an end by force"
            raise SystemExit(f"{self.name}: the tests fail without a change, or are none: {why}")
        return answer

    def is_noticed(self, tree):
        """Say whether the tests fail with a module as it is told."""
        answer = self.answer(tree)
        if answer and answer["failed"]:
            self.noticed[answer["failed"]] += 1
        return answer is None or bool(answer["failed"])

    def answer(self, tree):
        """Return what the tests say in a process of their own; None where it ended by force."""
        ours, theirs = COPIES.Pipe(duplex=False)
        process = COPIES.Process(target=self.ask, args=(tree, theirs))
        process.start()
        theirs.close()
        answer = None
        with suppress(EOFError):  # the process ended without an answer
            answer = ours.recv() if ours.poll(LONGEST) else None
        process.kill()
        process.join()
        return answer

    def ask(self, tree, pipe):
        """Run examples and tests with the module as it is told; tell what failed."""
        silent = os.open(os.devnull, os.O_WRONLY)
        os.dup2(silent, 1)
        os.dup2(silent, 2)
        resource.setrlimit(resource.RLIMIT_CPU, (self.limit, self.limit))
        resource.setrlimit(resource.RLIMIT_AS, (MEMORY, MEMORY))
        draw_alike()
        sys.meta_path.insert(0, Instead(self.name, self.path, tree))
        failed, order = self.failed_example(), Order(self.noticed, self.seconds)
        if not failed and self.tests:
            code = pytest.main([*OPTIONS, *self.plugins(), *map(str, self.tests)], plugins=[order])
            failed = order.failed or ("the gathering of tests" if code else "")
        used = resource.getrusage(resource.RUSAGE_SELF)
        pipe.send({
            "failed": failed,
            "seconds": dict(order.took),
            "modules": [
                name
                for name, each in sys.modules.items()
                if getattr(each, "__spec__", None) and not name.startswith("tests")
            ],
            "processor": used.ru_utime + used.ru_stime,
        })  # fmt: skip

    def failed_example(self):
        """Return the words "an example" where one of the module's own does not hold."""
        try:
            examples = doctest.testmod(importlib.import_module(self.name))
        except Exception as failure:  # noqa: BLE001 - whatever a change breaks was noticed
            return type(failure).__name__
        return "an example" if examples.failed or not (self.tests or examples.attempted) else ""

    def plugins(self):
        """Return the options that load what the tests' folders share."""
        homes = {Path("tests", self.name.partition(".")[0], "rules")}
        homes |= {each.resolve().parent.relative_to(ROOT) for each in self.tests}
        shared = sorted(each for each in homes if (ROOT / each / "conftest.py").exists())
        return [word for each in shared for word in ("-p", ".".join([*each.parts, "conftest"]))]


def draw_alike():
    """Let property tests draw the same each time, and not look for the shortest that fails."""
    phases = [Phase.explicit, Phase.generate]
    settings.register_profile(
        "asked", deadline=None, derandomize=True, database=None, phases=phases
    )
    settings.load_profile("asked")


def forget(names):
    """Let modules, and those in them, be imported anew."""
    for name in list(sys.modules):
        if any(name == each or name.startswith(f"{each}.") for each in names):
            del sys.modules[name]


def is_importable(name):
    """Import a module; say whether that can be while the changed one is absent."""
    try:
        importlib.import_module(name)
    except NotYet:
        return False
    return True

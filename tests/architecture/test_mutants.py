"""What is told to mean the same stands in the rules yet."""

from functools import cache

from tests.mutants import ROOT, reasons
from tests.mutating.changes import changes_of


@cache
def known_by(module):
    changes = changes_of((ROOT / module).read_text(encoding="utf-8"))
    return {(each.text, each.what, each.which) for each in changes}


def test_each_change_that_means_the_same_can_still_be_made():
    gone = [
        (module, *change) for module, *change in reasons() if tuple(change) not in known_by(module)
    ]

    assert gone == []

"""What a check of the journal found."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from treatments.rules.journal_walk import Fault

MOST_KEPT = 1_000


@dataclass(slots=True)
class Verdict:
    """The journal's size and root as they were found, and what is not as it was kept.

    faults: the first thousand in the order of the check; count: how many there are
    """

    size: int = 0
    root: str = ""
    records: int = 0
    checkpoints: int = 0
    faults: list[Fault] = field(default_factory=list)
    count: int = 0

    def add(self, faults: Iterable[Fault]) -> None:
        """Take up faults; beyond a thousand they are counted only."""
        for fault in faults:
            self.count += 1
            if len(self.faults) < MOST_KEPT:
                self.faults.append(fault)

    def first(self) -> Fault | None:
        """Return the fault of the lowest entry, one without an entry only where no other is."""
        placed = [fault for fault in self.faults if fault.seq is not None]
        return min(placed or self.faults, key=lambda fault: fault.seq or 0, default=None)

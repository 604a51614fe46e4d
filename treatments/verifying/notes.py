"""Holds checkpoints, our own and those that others kept, against the entries they count."""

from collections import defaultdict
from collections.abc import Container, Iterable, Iterator

from treatments.checkpointing import wrong_signature
from treatments.rules.checkpoints import NoCheckpoint, read_checkpoint
from treatments.rules.journal_walk import Fault, Walk, fault_of_checkpoint


class Notes:
    """The texts of checkpoints by the number of entries that each counts.

    unreadable: faults of those that are no checkpoints
    """

    def __init__(self, texts: Iterable[str]) -> None:
        self.unreadable: list[Fault] = []
        self.count = 0
        self.sound_until = 0
        self._by_size: dict[int, list[str]] = defaultdict(list)
        for text in texts:
            self._take(text)

    @property
    def sizes(self) -> Container[int]:
        """The numbers of entries at which there is something to hold against the walk."""
        return self._by_size

    def _take(self, text: str) -> None:
        self.count += 1
        try:
            told = read_checkpoint(text)
        except NoCheckpoint as error:
            self.unreadable.append(Fault(f"a checkpoint cannot be read: {error}"))
            return
        self._by_size[told.size].append(text)
        if wrong := wrong_signature(text, told.origin):
            after = f"checkpoint after {told.size} entries"
            self.unreadable.append(Fault(f"{after}: {wrong}"))

    def step(self, walk: Walk) -> Iterator[Fault]:
        """Hold the checkpoints that count exactly what was walked against it."""
        texts = self._by_size.pop(walk.tree.size, [])
        # After a gap no root can be made again, and the gap is told already.
        if not texts or not walk.is_whole:
            return
        head = walk.head()
        found = [fault_of_checkpoint(text, head, self.sound_until) for text in texts]
        faults = [fault for fault in found if fault is not None]
        if not faults:
            self.sound_until = head.size
        yield from faults

    def end(self, walk: Walk) -> Iterator[Fault]:
        """Tell of the checkpoints that count more than there is."""
        if not walk.is_whole:
            return
        for size in sorted(self._by_size):
            for text in self._by_size[size]:
                if fault := fault_of_checkpoint(text, walk.head()):
                    yield fault

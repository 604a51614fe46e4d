"""Tells at a terminal how far the work is: a bar there, a plain line now and then elsewhere."""

from typing import Any

WIDTH = 32
LINES = 6  # told in all where nobody watches


class Progress:
    """How many of a known number of steps are done."""

    def __init__(self, out: Any, steps: int) -> None:
        self.out = out
        self.steps = steps
        self.done = 0
        self.is_watched = out.isatty()

    def step(self, words: str) -> None:
        """Tell that one more step is done."""
        self.done = min(self.done + 1, self.steps)
        if self.is_watched:
            filled = WIDTH * self.done // self.steps
            bar = "█" * filled + "·" * (WIDTH - filled)
            self.out.write(f"\r{bar} {100 * self.done // self.steps:3} % {words:<24}", ending="")
            self.out.flush()
        elif self.done * LINES // self.steps > (self.done - 1) * LINES // self.steps:
            self.out.write(f"{100 * self.done // self.steps:3} % {words}")

    def end(self) -> None:
        """Leave the line of the bar."""
        if self.is_watched:
            self.out.write("")

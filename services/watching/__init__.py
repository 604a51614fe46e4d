"""Watches over the program itself: signs of life, checks of the book, and figures of both."""

from services.watching.checks import check_book, last_check
from services.watching.figures import Figure, figures
from services.watching.pulses import beat_pulse, last_heard_of, silent_queues

__all__ = [
    "Figure",
    "beat_pulse",
    "check_book",
    "figures",
    "last_check",
    "last_heard_of",
    "silent_queues",
]

"""Calls from further down, so that no measure goes by its place on the interpreter's stack.

CPython 3.11 keeps the frames of its calls in pieces of 16 kB.  Where one ends within a loop, each
turn of it takes memory anew, and the same work may take twice as long by no more than the number of
calls around it.  A measure that begins each round a little further down has no one place.
"""


def further_down(calls, do, *given):
    """Do something from within so many calls."""
    return further_down(calls - 1, do, *given) if calls else do(*given)

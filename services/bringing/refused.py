"""A cell of a file that cannot be taken as it stands."""


class Refused(str):
    """A cell that is not read, and in words why."""

    __slots__ = ()

"""Addresses of pages, for tables that lead to as many pages as they have rows."""

from collections.abc import Callable

from django.urls import reverse


def pages_of(name: str) -> Callable[[int], str]:
    """Return what tells the address of each page of a name by its number, looked up but once."""
    before, _zero, after = reverse(name, args=[0]).rpartition("0")
    return lambda number: f"{before}{number}{after}"

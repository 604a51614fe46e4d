"""Finds what the book has by words: an index that triggers keep, asked by role."""

from services.searching.finding import LONGEST, Found, search
from services.searching.index import install_index, tidy

__all__ = ["LONGEST", "Found", "install_index", "search", "tidy"]

"""Makes up a business of any size, to see how the book bears it; all of it is invented.

What a small business of the demonstration has - people, products with labels, rotations - is taken
from there; clients, plantings, courses, visits, records and lots are made up in batches, each in a
transaction of its own, so that memory does not grow and a kill leaves whole batches.  How many of
what there are is made up as well; no figure here is a measurement.
"""

from services.generating.running import generate
from services.generating.wanted import NotGenerated, Wanted

__all__ = ["NotGenerated", "Wanted", "generate"]

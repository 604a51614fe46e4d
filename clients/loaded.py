"""What was loaded with a row, read without building a query for it."""

from typing import Any


def all_of(row: Any, relation: str) -> Any:
    """Return all rows of a relation, by its name: the prefetched ones, else a query for them.

    The same as `row.relation.all()`, which builds a manager and a query each time it is written,
    and which a page of many rows writes many times for each.
    """
    loaded = getattr(row, "_prefetched_objects_cache", {}).get(relation)
    return getattr(row, relation).all() if loaded is None else loaded

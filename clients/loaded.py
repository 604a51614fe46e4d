"""What was loaded with a row, read without building a query for it."""

from typing import Any

from django.db.models import Prefetch


def all_of(row: Any, relation: str) -> Any:
    """Return all rows of a relation, by its name: the prefetched ones, else a query for them.

    The same as `row.relation.all()`, which builds a manager and a query each time it is written,
    and which a page of many rows writes many times for each.
    """
    if (noted := getattr(row, f"all_{relation}", None)) is not None:
        return noted
    loaded = getattr(row, "_prefetched_objects_cache", {}).get(relation)
    return getattr(row, relation).all() if loaded is None else loaded


def noting(path: str) -> Prefetch:
    """Load the relation at the end of a path for `all_of` alone, as `all_` and its name.

    What is prefetched for `row.relation.all()` builds a manager and a query for each row.
    """
    return Prefetch(path, to_attr=f"all_{path.rpartition('__')[2]}")

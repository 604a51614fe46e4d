"""What was loaded with a row, read without building a query for it."""

from collections import defaultdict
from collections.abc import Collection
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


def noting(relation: str) -> Prefetch:
    """Load a relation for `all_of` alone, as `all_` and its name.

    What is prefetched for `row.relation.all()` builds a manager and a query for each row.
    """
    return Prefetch(relation, to_attr=f"all_{relation}")


def note(rows: Collection[Any], relation: str) -> None:
    """Load what points to rows of a model by a foreign key, for `all_of` alone, in one query.

    The same as prefetching with `noting`, in half the time.
    """
    if not rows:
        return
    key = next(iter(rows))._meta.get_field(relation).field
    found = defaultdict(list)
    for each in key.model.objects.filter(**{f"{key.name}__in": {row.pk for row in rows}}):
        found[getattr(each, key.attname)].append(each)
    for row in rows:
        setattr(row, f"all_{relation}", found[row.pk])

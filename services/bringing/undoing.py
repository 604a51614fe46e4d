"""Undoes what a file brought: the same day, as long as nothing was built upon it."""

from collections.abc import Iterator, Mapping, Sequence
from datetime import datetime
from typing import Any

from django.apps import apps
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import models, transaction
from django.utils.translation import gettext as _

from services.bringing.kinds.lots import TAKEN_BACK
from services.dispatching import today_at_yard
from services.models import Bringing
from treatments.models import Lot, StockEntry
from treatments.storekeeping import enter

AT_A_TIME = 500
LEDGER = StockEntry._meta.label_lower
STORE = Lot._meta.label_lower


@transaction.atomic
def undo(row: Bringing, *, by: User | None, now: datetime) -> bool:
    """Take back what a file brought; say whether it stood there until now.

    Lines of the ledger stay, for it only grows: each lot gets one more that takes it out again.
    Raise ValidationError on another day, or where something was built upon what was brought.
    """
    row = Bringing.objects.select_for_update().get(pk=row.pk)
    if row.kept_at is None or row.undone_at is not None:
        return False
    if not may_be_undone_on(row, now):
        raise ValidationError(_("A file is undone on the day on which it was kept."), code="late")
    made: dict[str, list[int]] = dict(row.made["rows"])
    built = sorted(set(built_upon(made)))
    if built:
        raise ValidationError(
            _("Something was built upon what the file brought: %(what)s. Nothing was undone."),
            params={"what": ", ".join(built)},
            code="built_upon",
        )
    lines = _taken_out(row, made.get(LEDGER, []), by, now)
    for label in reversed(made):
        if label not in {LEDGER, STORE}:
            for ids in _parts(made[label]):
                apps.get_model(label)._base_manager.filter(pk__in=ids).delete()
    made_and_undone = row.made | {TAKEN_BACK: lines}
    Bringing.objects.filter(pk=row.pk).update(undone_at=now, made=made_and_undone)
    return True


def may_be_undone_on(row: Bringing, now: datetime) -> bool:
    """Say whether a moment lies on the day on which a file was kept, by the clocks of the yard."""
    kept = row.kept_at
    return kept is not None and today_at_yard(now) == today_at_yard(kept)


def built_upon(made: Mapping[str, Sequence[int]]) -> Iterator[str]:
    """Yield the nouns of what hangs on rows that were made, or was changed since.

    made: ids by the label of a model
    """
    for label, ids in made.items():
        if label == LEDGER:
            continue
        model = apps.get_model(label)
        for part in _parts(ids):
            yield from _changed(model, part)
            for relation in model._meta.get_fields(include_hidden=True):
                if relation.auto_created and not relation.concrete:
                    yield from _hanging(relation, part, made)


def _changed(model: type[models.Model], ids: Sequence[int]) -> Iterator[str]:
    names = {field.name for field in model._meta.get_fields()}
    if "version" in names:
        for thing in model._base_manager.filter(pk__in=ids, version__gt=1)[:3]:
            yield _("%(thing)s was changed") % {"thing": thing}


def _hanging(relation: Any, ids: Sequence[int], made: Mapping[str, Sequence[int]]) -> Iterator[str]:
    other = relation.related_model
    field = relation.field if hasattr(relation, "field") else relation.remote_field
    found = other._base_manager.filter(**{f"{field.name}__in": ids})
    ours = set(made.get(other._meta.label_lower, []))
    numbers = found.order_by().values_list("pk", flat=True).distinct()
    others = [pk for pk in numbers.iterator(AT_A_TIME) if pk not in ours]
    if others:
        yield f"{other._meta.verbose_name_plural} ({len(others)})"


def _taken_out(row: Bringing, ids: Sequence[int], by: User | None, now: datetime) -> list[int]:
    """Write a line of the ledger for each that the file brought, and return their ids."""
    note = (_("taken back, brought by mistake: %(name)s") % {"name": row.file_name})[:200]
    lines = []
    for part in _parts(ids):
        for line in StockEntry.objects.filter(pk__in=part).select_related("lot__product"):
            kind = StockEntry.Kind.COUNTED
            lines.append(enter(line.lot, kind, -line.amount, by=by, at=now, note=note).pk)
    return lines


def _parts(ids: Sequence[int]) -> Iterator[Sequence[int]]:
    for start in range(0, len(ids), AT_A_TIME):
        yield ids[start : start + AT_A_TIME]

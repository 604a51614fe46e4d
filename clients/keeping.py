"""Keeping what the office edits, without overwriting what somebody else wrote meanwhile."""

from typing import Any

from django.core.exceptions import ValidationError
from django.db import models, transaction
from django.db.models import F
from django.utils.translation import gettext_lazy as _


class Stale(ValidationError):
    """Somebody else kept the thing after this person read it."""

    def __init__(self, current: Any):
        super().__init__(
            _("Somebody else changed this after you opened it. Their version is shown here."),
            code="stale",
        )
        self.current = current


@transaction.atomic
def keep(thing: Any, *, version: int | None = None) -> Any:
    """Keep a new thing, or a changed one if it still has the version that was read.

    Raise Stale when it has not, ValidationError when it breaks a rule of its own.
    """
    thing.full_clean()
    if thing.pk is None:
        thing.save()
        return thing
    kind = type(thing)
    if not kind.objects.filter(pk=thing.pk, version=version).update(version=F("version") + 1):
        raise Stale(kind.objects.get(pk=thing.pk))
    thing.version = (version or 0) + 1
    thing.save()
    return thing


def differences(mine: models.Model, theirs: models.Model, names: list[str]) -> list[str]:
    """Return a line for each field that two versions tell differently: what theirs says."""
    columns: Any = theirs._meta
    return [
        f"{columns.get_field(name).verbose_name}: {getattr(theirs, name)}"
        for name in names
        if getattr(mine, name) != getattr(theirs, name)
    ]

"""Spills: noted once and for good; product that is lost leaves the ledger of its lot.

Who must be told at once stands on the page, before anything is noted [40CFR302-6].
"""

from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.translation import gettext as _

from treatments.models import Product, SpillNote, StockEntry
from treatments.repeating import noted_before
from treatments.storekeeping import enter


@transaction.atomic
def note_spill(*, by: Any, product: Product, form_id: UUID | None = None, **told: Any) -> SpillNote:
    """Keep a note of a spill; what ran out of a lot is taken off it, even below zero.

    form_id: made with the form; the same one is kept once

    Raise ValidationError where the lot is of another product, or where mix is told of a lot.
    """
    if known := noted_before(SpillNote.objects.all(), form_id, product=product, by=by):
        return known
    own = {"form_id": form_id, "noted_by": by, "noted_at": timezone.now()}
    note = SpillNote(**told, **own, product=product)
    note.full_clean()
    _refuse_other_lot(note)
    note.save()
    if note.lot is not None:
        enter(
            note.lot,
            StockEntry.Kind.DISPOSED,
            -note.amount,
            by=by,
            at=note.happened_at,
            note=_("spilled: %(place)s") % {"place": note.place},
        )
    return note


def _refuse_other_lot(note: SpillNote) -> None:
    if note.lot is None:
        return
    if note.what != SpillNote.What.CONCENTRATE:
        raise ValidationError({"lot": _("Mix is of no lot; leave this empty.")})
    if note.lot.product_id != note.product_id:
        raise ValidationError({"lot": _("This lot is of another product.")})

"""Leftovers: what became of mix and rinse, and concentrate that goes back to its lot."""

from datetime import date
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from treatments.models import LeftoverNote, Lot, Product, StockEntry
from treatments.repeating import noted_before
from treatments.rules.leftovers import NotBackIntoContainer, refuse_diluted
from treatments.storekeeping import return_to_store


@transaction.atomic
def note_leftover(
    *,
    kind: str,
    product: Product,
    gallons: Decimal,
    done: str,
    note: str,
    happened_on: date,
    by: Any,
    form_id: UUID | None = None,
) -> LeftoverNote:
    """Keep a note of what was left over and of what became of it; the same form keeps one."""
    if known := noted_before(LeftoverNote.objects.all(), form_id, product=product, by=by):
        return known
    kept = LeftoverNote(
        kind=kind,
        product=product,
        gallons=gallons,
        done=done,
        note=note,
        happened_on=happened_on,
        noted_by=by,
        form_id=form_id,
    )
    kept.full_clean()
    kept.save()
    return kept


@transaction.atomic
def return_concentrate(
    *, lot: Lot, amount: Decimal, is_undiluted: bool, by: Any, form_id: UUID | None = None
) -> StockEntry:
    """Put undiluted concentrate from a hose-end jar back into its lot; refuse what was diluted."""
    try:
        refuse_diluted(is_undiluted)
    except NotBackIntoContainer as reason:
        diluted = ValidationError(reason.say(_), code="diluted")
        raise ValidationError({"is_undiluted": diluted}) from reason
    note = _("undiluted, from the jar of a hose-end sprayer")
    return return_to_store(lot, amount=amount, by=by, note=note, form_id=form_id)

"""Knows what a form has kept already, so that it keeps it once however often it is sent."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet

from treatments.models import Product


def noted_before(
    notes: QuerySet[Any], form_id: UUID | None, *, product: Product, by: Any
) -> Any | None:
    """Return the note of a product that a person's form has kept already, None where it has not.

    Within a transaction: nobody else keeps one of the product until its end.
    """
    if form_id is None:
        return None
    Product.objects.select_for_update().get(pk=product.pk)
    return notes.filter(form_id=form_id, product=product, noted_by=by).first()

"""Corrects a charge by a line on the next statement; what was given out stays as it is."""

from datetime import date, datetime
from decimal import Decimal
from uuid import UUID

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from clients.models import Client, Property
from services.models import ChargeCorrection, Visit
from services.rules.charging import Kind
from services.statements.giving import lock_statements


@transaction.atomic
def correct_charge(
    client: Client,
    *,
    property: Property,  # noqa: A002 - as the column is called
    day: date,
    amount: Decimal,
    words: str,
    by: User | None,
    at: datetime,
    form_id: UUID,
    kind: str = Kind.SERVICE.value,
    visit: Visit | None = None,
) -> ChargeCorrection:
    """Keep a correction for the next statement; the same form keeps it once.

    Raise ValidationError where property or visit are another client's, or the visit is on no
    statement yet: then its price is what is to be put right.
    """
    lock_statements()
    known = ChargeCorrection.objects.filter(form_id=form_id).first()
    if known is not None:
        return known
    if property.client_id != client.pk:
        raise ValidationError({"property": _("This property is another client's.")})
    if visit is not None and visit.course.property_id != property.pk:
        raise ValidationError({"visit": _("This visit was at another property.")})
    if visit is not None and not hasattr(visit, "statement_line"):
        raise ValidationError({"visit": _("This visit is on no statement yet.")})
    correction = ChargeCorrection(
        client=client,
        property=property,
        visit=visit,
        day=day,
        amount=amount,
        kind=kind,
        words=words,
        made_by=by,
        made_at=at,
        form_id=form_id,
    )
    correction.full_clean()
    correction.save()
    return correction

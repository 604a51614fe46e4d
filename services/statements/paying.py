"""Notes payments by hand; the book itself moves no money."""

from datetime import date, datetime
from decimal import Decimal
from uuid import UUID, uuid4

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext_lazy as _

from clients.models import Client
from services.models import Payment
from services.statements.giving import lock_statements


@transaction.atomic
def note_payment(
    client: Client,
    *,
    day: date,
    amount: Decimal,
    way: str,
    by: User | None,
    at: datetime,
    form_id: UUID,
    note: str = "",
) -> Payment:
    """Note what a client paid; the same form notes it once.

    Raise ValidationError for a day that is still to come.
    """
    lock_statements()
    known = Payment.objects.filter(form_id=form_id).first()
    if known is not None:
        return known
    if day > at.date():
        raise ValidationError({"day": _("This day is still to come.")})
    payment = Payment(
        client=client,
        day=day,
        amount=amount,
        way=way,
        note=note,
        noted_by=by,
        noted_at=at,
        form_id=form_id,
    )
    payment.full_clean()
    payment.save()
    return payment


@transaction.atomic
def take_back_payment(payment: Payment, *, by: User | None, at: datetime) -> Payment:
    """Take back a payment that was noted wrongly, by a second row; twice does it once.

    Raise ValidationError for what takes another back itself.
    """
    lock_statements()
    known = Payment.objects.filter(takes_back=payment).first()
    if known is not None:
        return known
    if payment.takes_back_id is not None:
        raise ValidationError(_("Note the payment anew instead."), code="takes_back")
    opposite = Payment(
        client=payment.client,
        day=payment.day,
        amount=-payment.amount,
        way=payment.way,
        takes_back=payment,
        noted_by=by,
        noted_at=at,
        form_id=uuid4(),
    )
    opposite.full_clean()
    opposite.save()
    return opposite

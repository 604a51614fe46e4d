"""Lets a price end; what was charged by it stays."""

from datetime import date

from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from services.models import PriceRule


def end_price(rule: PriceRule, last_day: date) -> bool:
    """Set the last day of a price; say whether it had none until now.

    Raise ValidationError for a price that begins later.
    """
    if last_day < rule.from_day:
        raise ValidationError(_("This price begins on a later day; it cannot end before."))
    return bool(
        PriceRule.objects.filter(pk=rule.pk, until_day__isnull=True).update(until_day=last_day)
    )

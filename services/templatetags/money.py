"""Figures of money and effort on pages; what is not known is said in words."""

from decimal import Decimal
from fractions import Fraction

from django import template
from django.utils.translation import gettext as _

from services.rules.charging import cents
from services.sheets.dates import number

register = template.Library()


@register.filter
def usd(amount):
    """Return an amount of dollars with its cents, or the word for one that is not known."""
    return _("unknown") if amount is None else number(cents(amount), 2)


@register.filter
def at_least_cents(amount):
    """Return a rate in dollars with its cents, and with parts of a cent where it has them."""
    return number(amount, max(2, -amount.normalize().as_tuple().exponent))


@register.filter
def in_tenths(figure):
    """Return minutes or miles to one place, or the word for what is not known."""
    if figure is None:
        return _("unknown")
    tenths = cents(Fraction(figure) * 10 / 100) * 10
    return number(tenths.quantize(Decimal("0.1")), 1)


@register.filter
def known_of(total):
    """Return of how many visits a sum is known, "" where it is of all or of none."""
    if total.is_whole or total.amount is None:
        return ""
    return _("of %(known)s of %(visits)s") % {"known": total.known, "visits": total.visits}

"""Money: US dollars, reckoned exactly and rounded once, half a cent away from zero."""

from decimal import Decimal
from fractions import Fraction
from math import floor

CENT = Decimal("0.01")


def cents(amount: Decimal | Fraction | int) -> Decimal:
    """Return an amount of dollars in whole cents, half a cent away from zero.

    What is taken back so comes to the cent to what was charged.

    >>> cents(Fraction(1, 3)), cents(Decimal("2.675")), cents(Decimal("-2.675"))
    (Decimal('0.33'), Decimal('2.68'), Decimal('-2.68'))
    """
    exact = Fraction(amount) * 100
    whole = floor(abs(exact) + Fraction(1, 2))
    return Decimal(whole if exact >= 0 else -whole).scaleb(-2)

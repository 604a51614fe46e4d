"""Figures of several visits together: sums of what is known, and of how many visits it is."""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction


@dataclass(frozen=True, slots=True)
class Total:
    """A sum over visits; of `visits` only `known` have the figure.

    amount: None where it is known of no visit, for nothing known is not nothing
    """

    amount: Decimal | Fraction | None
    known: int
    visits: int

    @property
    def is_whole(self) -> bool:
        """Whether the figure is known of every visit."""
        return self.known == self.visits


def total_of(figures: Iterable[Decimal | Fraction | None]) -> Total:
    """Return the sum of what is known.

    >>> total_of([Decimal("1.50"), None, Decimal("2.25")])
    Total(amount=Decimal('3.75'), known=2, visits=3)
    """
    told = list(figures)
    known = [Fraction(each) for each in told if each is not None]
    if not known:
        return Total(None, 0, len(told))
    if any(isinstance(each, Fraction) for each in told):
        return Total(sum(known, Fraction(0)), len(known), len(told))
    amounts = [each for each in told if isinstance(each, Decimal)]
    return Total(sum(amounts, Decimal(0)), len(known), len(told))

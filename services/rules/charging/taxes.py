"""Tax by the owner's own table; the book knows no rate by itself and gives no advice on tax."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from services.rules.charging.money import cents
from services.rules.charging.prices import Kind


class FallsOn(StrEnum):
    """What a tax falls on."""

    SERVICE = "service"
    PRODUCT = "product"
    BOTH = "both"


@dataclass(frozen=True, slots=True)
class TaxRate:
    """A percentage from a day on, at a place and on what it falls.

    place: code of a state [ISO 3166-2]; county: "" for all of the state
    name: by which a newer rate is known to follow an older one; taxes of other names come beside
    """

    key: int
    name: str
    place: str
    percent: Decimal
    falls_on: FallsOn
    from_day: date
    county: str = ""

    def is_for(self, line: "Taxable") -> bool:
        """Say whether the tax falls on a line, if it holds on its day."""
        if self.falls_on not in (FallsOn.BOTH, line.kind.value):
            return False
        if self.place != line.place or self.from_day > line.day:
            return False
        return self.county.casefold() in ("", line.county.casefold())

    def series(self) -> tuple[str, str, str]:
        """Return what it has in common with the rates before and after it."""
        return self.place, self.county.casefold(), self.name.casefold()


@dataclass(frozen=True, slots=True)
class Taxable:
    """A line as a tax looks at it; a correction has its sign."""

    amount: Decimal
    day: date
    place: str
    county: str = ""
    kind: Kind = Kind.SERVICE


@dataclass(frozen=True, slots=True)
class TaxDue:
    """What one rate takes of a statement: of which sum, and how much in cents."""

    rate: TaxRate
    base: Decimal
    amount: Decimal


def taxes_on(lines: Iterable[Taxable], rates: Sequence[TaxRate]) -> list[TaxDue]:
    """Return the tax of lines together, a row a rate; each row is rounded once.

    Of the rates of one name and place the newest that holds on a line's day counts; one that falls
    on nothing that is charged stays away.
    """
    bases: dict[int, Decimal] = defaultdict(Decimal)
    known = {rate.key: rate for rate in rates}
    for line in lines:
        for rate in _rates_of(line, rates):
            bases[rate.key] += line.amount
    return [
        TaxDue(known[key], base, cents(Fraction(base) * Fraction(known[key].percent) / 100))
        for key, base in sorted(bases.items())
    ]


def _rates_of(line: Taxable, rates: Sequence[TaxRate]) -> Iterable[TaxRate]:
    """Yield the rate of each name that counts for a line.

    The newest row of a name counts even where it falls on something else now, so that a tax that
    was taken off work is not charged on it by its older row.
    """
    newest: dict[tuple[str, str, str], TaxRate] = {}
    for rate in rates:
        known = newest.get(rate.series())
        if rate.from_day <= line.day and (
            known is None or (known.from_day, known.key) < (rate.from_day, rate.key)
        ):
            newest[rate.series()] = rate
    return [rate for rate in newest.values() if rate.is_for(line)]

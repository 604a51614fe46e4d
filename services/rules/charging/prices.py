"""What a visit is charged: by the one of the business's price rules that is most particular."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction

from services.rules.charging.money import cents
from treatments.rules.findings import Marked, gettext_noop

NO_PRICE = gettext_noop("No price rule speaks of this visit.")
NO_MINUTES = gettext_noop("The minutes of work are not known, and the price goes by the hour.")
NO_AREA = gettext_noop("The treated area is not recorded, and the price goes by it.")
NO_COST = gettext_noop("What the product cost is not known, and the price goes by it.")


class PricedBy(StrEnum):
    """What a price is for."""

    VISIT = "visit"
    HOUR = "hour"
    AREA = "area"
    PRODUCT = "product"


class Kind(StrEnum):
    """What a line charges: work, or goods."""

    SERVICE = "service"
    PRODUCT = "product"


@dataclass(frozen=True, slots=True)
class PriceRule:
    """A price from a day on: for all, or only for a client or property, for a rotation, or both.

    amount: USD for a visit, an hour of one person's work or 1,000 sq ft treated; for product the
        mark-up on what it cost, in percent
    until_day: the last day on which it holds, None without an end
    """

    key: int
    by: PricedBy
    amount: Decimal
    from_day: date
    until_day: date | None = None
    client: int | None = None
    property: int | None = None
    rotation: int | None = None

    def speaks_of(self, visit: "ToCharge") -> bool:
        """Say whether the rule holds for a visit."""
        return (
            self.from_day <= visit.day
            and (self.until_day is None or visit.day <= self.until_day)
            and self.client in (None, visit.client)
            and self.property in (None, visit.property)
            and self.rotation in (None, visit.rotation)
        )

    def particularity(self) -> tuple[int, bool]:
        """Return how particular it is: a property before a client, either before a rotation.

        >>> one = PriceRule(1, PricedBy.VISIT, Decimal(85), date(2026, 1, 1), client=7)
        >>> two = PriceRule(2, PricedBy.VISIT, Decimal(95), date(2026, 1, 1), rotation=3)
        >>> one.particularity() > two.particularity()
        True
        """
        place = 2 if self.property is not None else 1 if self.client is not None else 0
        return place, self.rotation is not None


@dataclass(frozen=True, slots=True)
class ToCharge:
    """What a price needs to know of a visit; None where it is not known.

    product_cost: USD of all product used, at lot cost
    agreed: what the client accepted for this visit, which comes before every rule
    """

    day: date
    client: int
    property: int
    rotation: int
    labour_minutes: Fraction | None = None
    area_sq_ft: Decimal | None = None
    product_cost: Decimal | None = None
    agreed: Decimal | None = None
    agreed_kind: Kind = Kind.SERVICE


@dataclass(frozen=True, slots=True)
class Charge:
    """What a visit is charged in cents, by which rule; without an amount `why_not` says why.

    quantity: hours, thousands of square feet or USD of cost, None for a visit as such
    rule: None where the price was agreed, and where no rule speaks of the visit
    """

    amount: Decimal | None
    kind: Kind = Kind.SERVICE
    rule: PriceRule | None = None
    quantity: Fraction | None = None
    is_agreed: bool = False
    why_not: Marked | None = None


def price_that_counts(rules: Iterable[PriceRule], visit: ToCharge) -> PriceRule | None:
    """Return the most particular of the rules that speak of a visit, of those alike the newest."""
    speaking = [rule for rule in rules if rule.speaks_of(visit)]
    return max(
        speaking,
        key=lambda rule: (rule.particularity(), rule.from_day, rule.key),
        default=None,
    )


def charge_of(visit: ToCharge, rules: Iterable[PriceRule]) -> Charge:
    """Return the charge line of a visit: reckoned exactly, rounded once.

    >>> rule = PriceRule(1, PricedBy.AREA, Decimal("32.50"), date(2026, 1, 1))
    >>> roses = ToCharge(date(2026, 7, 6), 1, 1, 1, area_sq_ft=Decimal(630))
    >>> charge_of(roses, [rule]).amount
    Decimal('20.48')
    """
    if visit.agreed is not None:
        return Charge(cents(visit.agreed), visit.agreed_kind, is_agreed=True)
    rule = price_that_counts(rules, visit)
    if rule is None:
        return Charge(None, why_not=NO_PRICE)
    if rule.by is PricedBy.VISIT:
        return Charge(cents(rule.amount), rule=rule)
    if rule.by is PricedBy.HOUR:
        hours = None if visit.labour_minutes is None else visit.labour_minutes / 60
        return _by(rule, hours, Fraction(rule.amount), NO_MINUTES)
    if rule.by is PricedBy.AREA:
        thousands = None if visit.area_sq_ft is None else Fraction(visit.area_sq_ft) / 1000
        return _by(rule, thousands, Fraction(rule.amount), NO_AREA)
    cost = None if visit.product_cost is None else Fraction(visit.product_cost)
    return _by(rule, cost, 1 + Fraction(rule.amount) / 100, NO_COST, Kind.PRODUCT)


def _by(
    rule: PriceRule,
    quantity: Fraction | None,
    price: Fraction,
    why_not: Marked,
    kind: Kind = Kind.SERVICE,
) -> Charge:
    if quantity is None:
        return Charge(None, kind, rule, why_not=why_not)
    return Charge(cents(quantity * price), kind, rule, quantity)

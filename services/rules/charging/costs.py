"""What a visit costs: people at the stop, its share of the route, and product at lot cost.

What is not known is said, never taken as nothing: then there is no whole cost.
"""

from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction

from services.rules.charging.money import cents
from treatments.rules.findings import Marked, gettext_noop

METRES_A_MILE = Fraction("1609.344")  # exact [NIST-HB44]

PEOPLE_NOT_KNOWN = gettext_noop("Who went is not known: no crew was sent and no record names one.")
TIMES_NOT_KNOWN = gettext_noop("When the work began or ended is not known.")
WAY_NOT_KNOWN = gettext_noop("The way there is not known: the visit was on no route.")
HOUR_HAS_NO_COST = gettext_noop("What an hour of work costs was not entered for that day.")
MILE_HAS_NO_COST = gettext_noop("What a mile costs was not entered for that day.")
LOT_HAS_NO_COST = gettext_noop("What the lot of %(product)s cost was not entered.")
LOT_NOT_KNOWN = gettext_noop("From which lot the %(product)s came is not known.")
NOT_RECORDED = gettext_noop("What was applied is not recorded.")


@dataclass(frozen=True, slots=True)
class Work:
    """The work at a stop as it was recorded: how many people, from when until when."""

    people: int | None = None
    started_at: datetime | None = None
    ended_at: datetime | None = None

    def minutes(self) -> Fraction | None:
        """Return people times minutes at the stop, None where one of them is not known.

        >>> from datetime import datetime
        >>> Work(2, datetime(2026, 7, 6, 18), datetime(2026, 7, 6, 18, 40)).minutes()
        Fraction(80, 1)
        """
        if not self.people or self.started_at is None or self.ended_at is None:
            return None
        return self.people * Fraction(round((self.ended_at - self.started_at).total_seconds()), 60)


@dataclass(frozen=True, slots=True)
class Drive:
    """A visit's share of its route."""

    seconds: Fraction
    metres: Fraction

    @property
    def minutes(self) -> Fraction:
        """The minutes on the way."""
        return self.seconds / 60

    @property
    def miles(self) -> Fraction:
        """The miles driven."""
        return self.metres / METRES_A_MILE


def drives_of(legs: Sequence[Mapping]) -> dict[Hashable, Drive]:
    """Return each stop's share of a route: the way to it, and an equal part of the way home.

    legs: of a dispatch in order; `travel` has `from`, `until` [ISO 8601] and `metres`, `work` its
        visit.  The shares add up to the route exactly.
    """
    to: dict[Hashable, list[Fraction]] = {}
    seconds = metres = Fraction(0)
    for leg in legs:
        if leg["kind"] == "travel":
            took = datetime.fromisoformat(leg["until"]) - datetime.fromisoformat(leg["from"])
            seconds += Fraction(round(took.total_seconds()))
            metres += Fraction(leg.get("metres", 0))
        elif leg["kind"] == "work" and "visit" in leg:
            share = to.setdefault(leg["visit"], [Fraction(0), Fraction(0)])
            share[0], share[1] = share[0] + seconds, share[1] + metres
            seconds = metres = Fraction(0)
    return {
        visit: Drive(its_seconds + seconds / len(to), its_metres + metres / len(to))
        for visit, (its_seconds, its_metres) in to.items()
    }


@dataclass(frozen=True, slots=True)
class CostRate:
    """What an hour of a person's work, or a mile, costs the business from a day on (USD)."""

    amount: Decimal
    from_day: date


@dataclass(frozen=True, slots=True)
class CostRates:
    """What hours and miles cost, each as it was entered over time."""

    hour: tuple[CostRate, ...] = ()
    mile: tuple[CostRate, ...] = ()


def _on(rates: Iterable[CostRate], day: date) -> Decimal | None:
    """Return the newest of the amounts that hold on a day, or None."""
    held = [rate for rate in rates if rate.from_day <= day]
    return max(held, key=lambda rate: rate.from_day).amount if held else None


@dataclass(frozen=True, slots=True)
class Used:
    """Product that was used: what it cost (USD), or why that is not known."""

    product: str
    cost: Fraction | None
    why_not: Marked | None = None


@dataclass(frozen=True, slots=True)
class Cost:
    """What a visit cost, in cents; None where it is not known, and then `unknown` says why.

    product: of what is known; with `product_is_whole` of all that was used
    """

    labour_minutes: Fraction | None = None
    travel_minutes: Fraction | None = None
    travel_miles: Fraction | None = None
    labour: Decimal | None = None
    travel: Decimal | None = None
    product: Decimal = Decimal(0)
    product_is_whole: bool = True
    unknown: tuple[tuple[Marked, Mapping[str, object]], ...] = field(default=())

    def total(self) -> Decimal | None:
        """Return the whole cost, or None while a part of it is not known."""
        if self.labour is None or self.travel is None or not self.product_is_whole:
            return None
        return self.labour + self.travel + self.product

    def product_known(self) -> Decimal | None:
        """Return the cost of all product, or None where that of some is not known."""
        return self.product if self.product_is_whole else None


def cost_of(
    day: date, work: Work, drive: Drive | None, used: Iterable[Used], rates: CostRates
) -> Cost:
    """Return what a visit cost on its day: each part is reckoned exactly and rounded once."""
    used = list(used)
    minutes, an_hour, a_mile = work.minutes(), _on(rates.hour, day), _on(rates.mile, day)
    known = sum((each.cost for each in used if each.cost is not None), Fraction(0))
    # The way costs the crew's time as well as the truck's miles.
    labour = None if minutes is None or an_hour is None else minutes / 60 * Fraction(an_hour)
    people, travel = work.people, None
    if not (drive is None or people is None or an_hour is None or a_mile is None):
        hours = people * drive.seconds / 3600
        travel = hours * Fraction(an_hour) + drive.miles * Fraction(a_mile)
    return Cost(
        labour_minutes=minutes,
        travel_minutes=drive.minutes if drive else None,
        travel_miles=drive.miles if drive else None,
        labour=None if labour is None else cents(labour),
        travel=None if travel is None else cents(travel),
        product=cents(known),
        product_is_whole=all(each.cost is not None for each in used),
        unknown=tuple(_unknown(work, drive, used, an_hour, a_mile)),
    )


def _unknown(
    work: Work,
    drive: Drive | None,
    used: Iterable[Used],
    an_hour: Decimal | None,
    a_mile: Decimal | None,
) -> Iterable[tuple[Marked, Mapping[str, object]]]:
    if not work.people:
        yield PEOPLE_NOT_KNOWN, {}
    if work.started_at is None or work.ended_at is None:
        yield TIMES_NOT_KNOWN, {}
    if drive is None:
        yield WAY_NOT_KNOWN, {}
    if an_hour is None:
        yield HOUR_HAS_NO_COST, {}
    if a_mile is None:
        yield MILE_HAS_NO_COST, {}
    for each in used:
        if each.cost is None:
            yield each.why_not or LOT_HAS_NO_COST, {"product": each.product}

"""What a season is composed from: days, plantings, products on offer, wishes and fixed weeks."""

from collections import Counter
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from itertools import pairwise

from treatments.rules.composing.families import BINDING, Family
from treatments.rules.facts import (
    CertificateFacts,
    LotFacts,
    PastApplication,
    PlantingFacts,
    ProductFacts,
)
from treatments.rules.findings import Finding
from treatments.rules.resistance import USES_A_SEASON

FEWEST_WEEKS, MOST_WEEKS = 3, 26


class SeasonUnusable(ValueError):
    """The days, offers or fixed weeks do not make a season; the sentence says why."""


@dataclass(frozen=True, slots=True)
class TreatedPlanting:
    """A planting with what the records show on it, done weeks of this season left out."""

    planting: PlantingFacts
    history: tuple[PastApplication, ...] = ()


@dataclass(frozen=True, slots=True)
class Offer:
    """A product that a week may get, with its rate, its place in the store and its price.

    code: what the caller calls it, once in a season
    amount: of product for one visit to all plantings, in the unit of the store; None is unknown
    amount_per_1000_sq_ft: the same on the ground, in the product's `amount_basis`
    price, buying_price: dollars for one unit of the store, of what is held and of what would be
        bought; without a buying price nothing can be bought
    lots: of the store; None leaves the store out, an empty one has nothing
    risk: to beneficials, in points; None takes `risk_to_beneficials`
    label_range: the lowest and highest rate that the label gives; None where it is not known
    why_rate: why this rate was taken within them
    """

    code: str
    product: ProductFacts
    rate: Decimal
    basis: str
    amount: Decimal | None = None
    amount_per_1000_sq_ft: Decimal | None = None
    price: Decimal | None = None
    buying_price: Decimal | None = None
    lots: tuple[LotFacts, ...] | None = None
    with_spreader: bool = False
    water_ph: Decimal | None = None
    risk: Decimal | None = None
    label_range: tuple[Decimal, Decimal] | None = None
    why_rate: Finding | None = None

    def held(self) -> Decimal:
        """Return what the store holds, expired lots included."""
        return sum((lot.balance for lot in self.lots or ()), Decimal(0))

    def unit_price(self) -> Decimal | None:
        """Return what a unit from the store is worth: no more than buying it anew would cost."""
        prices = [each for each in (self.price, self.buying_price) if each is not None]
        return min(prices, default=None)


class PinKind(StrEnum):
    """How a week is fixed before the others are composed."""

    FIXED = "fixed"  # to an offer
    DONE = "done"  # it stands in the records
    SKIPPED = "skipped"  # nobody goes


@dataclass(frozen=True, slots=True)
class Pin:
    """A week that is not free: fixed to the offer `code`, done as `applied`, or skipped."""

    week: int
    kind: PinKind
    code: str = ""
    applied: PastApplication | None = None


@dataclass(frozen=True, slots=True)
class Wishes:
    """What is asked of a season beyond labels and law.

    cheapest, gentlest: count cost, or risk to beneficials, ten times
    fewest_visits: leave weeks out as long as visits come within reach of each other
    without_warnings: bar whatever a check warns of; otherwise a warning counts as 50 dollars
    dusk_possible: a crew may go at dusk where bees forbid the day
    given_up: families that need not be kept, none of them binding; where visits are given up,
        as many weeks as can be get one
    """

    organic_only: bool = False
    cheapest: bool = False
    gentlest: bool = False
    fewest_visits: bool = False
    without_warnings: bool = True
    dusk_possible: bool = True
    given_up: frozenset[Family] = frozenset()


@dataclass(frozen=True, slots=True)
class Season:
    """The weeks to compose, on their real days, and all that binds them.

    days: of week 1, 2, ... , rising; 3 to 26 of them
    certificates: of those who may go; None leaves them out, an empty one has nobody
    egg_reach_days: days within which eggs must be reached again, from the heat expected
    generation_days: length of the pest's generation, from the heat expected
    visit_reach_days: days within which a visit follows another where weeks may be left out
    uses_a_season: of one mode of action in a calendar year; None leaves that out
    visit_cost: dollars for going there, whatever is applied

    Raise SeasonUnusable for what makes no season.
    """

    days: tuple[date, ...]
    pest: str
    plantings: tuple[TreatedPlanting, ...]
    offers: tuple[Offer, ...]
    wishes: Wishes = Wishes()
    pins: tuple[Pin, ...] = ()
    certificates: tuple[CertificateFacts, ...] | None = None
    egg_reach_days: int | None = None
    generation_days: int | None = None
    visit_reach_days: int | None = None
    uses_a_season: int | None = USES_A_SEASON
    visit_cost: Decimal = Decimal(0)

    def __post_init__(self) -> None:
        _check_days(self.days)
        _check_offers(self.offers)
        _check_pins(self)
        if self.wishes.given_up & BINDING:
            raise SeasonUnusable("What a label, the law or an agreement asks is never given up.")
        if not self.plantings:
            raise SeasonUnusable("Name at least one planting.")
        if self.wishes.fewest_visits and self.reach_of_visits() is None:
            raise SeasonUnusable(
                "Fewest visits need to know how many days may lie between two of them."
            )

    def reach_of_visits(self) -> int | None:
        """Return the days within which a visit follows another: their own, else the eggs'."""
        return self.egg_reach_days if self.visit_reach_days is None else self.visit_reach_days

    def pin_of(self, week: int) -> Pin | None:
        """Return how a week is fixed, or None when it is free."""
        return next((pin for pin in self.pins if pin.week == week), None)

    def done(self) -> tuple[PastApplication, ...]:
        """Return what the done weeks of this season applied."""
        return tuple(pin.applied for pin in self.pins if pin.applied is not None)

    def open_weeks(self) -> tuple[int, ...]:
        """Return the weeks that are not done, fixed and skipped ones included."""
        done = {pin.week for pin in self.pins if pin.kind is PinKind.DONE}
        return tuple(week for week in range(1, len(self.days) + 1) if week not in done)

    def may_be_left_out(self, week: int) -> bool:
        """Say whether a week may go without a visit."""
        pin = self.pin_of(week)
        is_skipped = pin is not None and pin.kind is PinKind.SKIPPED
        may_lapse = self.wishes.fewest_visits or Family.VISITS in self.wishes.given_up
        return may_lapse or is_skipped

    def history_of(self, treated: TreatedPlanting) -> tuple[PastApplication, ...]:
        """Return what was applied on a planting, the done weeks of this season included."""
        return treated.history + tuple(each for each in self.done() if each not in treated.history)


def _check_days(days: tuple[date, ...]) -> None:
    if not FEWEST_WEEKS <= len(days) <= MOST_WEEKS:
        raise SeasonUnusable(f"A season has {FEWEST_WEEKS} to {MOST_WEEKS} weeks, not {len(days)}.")
    for earlier, later in pairwise(days):
        if later <= earlier:
            raise SeasonUnusable(
                f"{later} does not come after {earlier}, the day of the week before."
            )


def _check_offers(offers: tuple[Offer, ...]) -> None:
    if not offers:
        raise SeasonUnusable("Put at least one product on offer.")
    for code, times in Counter(offer.code for offer in offers).items():
        if times > 1:
            raise SeasonUnusable(f"The code {code!r} stands for {times} offers.")
    shelves = {
        (offer.product.name, offer.lots, offer.price, offer.buying_price) for offer in offers
    }
    for name, times in Counter(shelf[0] for shelf in shelves).items():
        if times > 1:
            raise SeasonUnusable(f"The offers of {name} differ in their lots or prices.")


def _check_pins(season: Season) -> None:
    codes = {offer.code for offer in season.offers}
    for week, times in Counter(pin.week for pin in season.pins).items():
        if times > 1 or not 1 <= week <= len(season.days):
            raise SeasonUnusable(f"Week {week} is fixed {times} times or is no week of the season.")
    for pin in season.pins:
        if pin.kind is PinKind.FIXED and pin.code not in codes:
            raise SeasonUnusable(
                f"Week {pin.week} is fixed to {pin.code!r}, which is not on offer."
            )
        if (pin.kind is PinKind.DONE) != (pin.applied is not None):
            raise SeasonUnusable(f"Week {pin.week} is done exactly when it says what was applied.")

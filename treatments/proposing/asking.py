"""What is asked for when rotations are to be proposed."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta
from decimal import Decimal

from clients.models import Planting
from treatments.models import Pest
from treatments.rules.composing import Wishes
from treatments.rules.egg_reach import EggReach, reach_of_eggs
from treatments.rules.rate_choice import RateWish

WEEK = timedelta(days=7)
SKIPPED = "skip"  # what stands in place of a product where nobody goes


@dataclass(frozen=True, slots=True)
class Asked:
    """Plantings, pest and days, with wishes and fixed weeks.

    plantings: of one site on labels, each with its property and client loaded
    today: weeks before it are over: done as the records show, or passed without a visit
    pins: by week the product's id as text, or SKIPPED
    nights_f, afternoons_f: degrees Fahrenheit expected in the warmest week, from which the days
        between visits that reach eggs are worked out
    visit_reach_days: most days between visits where weeks may be left out; None takes the eggs'
    rates: how a rate is chosen where a label gives a range
    own_rates: by the product's id what a person chose, in the label's basis
    may_buy: count on what is not in the store but has a price
    """

    plantings: tuple[Planting, ...]
    pest: Pest
    first_day: date
    weeks: int
    today: date
    wishes: Wishes = field(default_factory=Wishes)
    pins: Mapping[int, str] = field(default_factory=dict)
    nights_f: Decimal | None = None
    afternoons_f: Decimal | None = None
    visit_reach_days: int | None = None
    rates: RateWish = RateWish.BY_COUNT
    own_rates: Mapping[int, Decimal] = field(default_factory=dict)
    may_buy: bool = True

    def days(self) -> tuple[date, ...]:
        """Return the day of each week."""
        return tuple(self.first_day + WEEK * week for week in range(self.weeks))

    def plant_group(self) -> str:
        """Return the site of the plantings as labels name it."""
        return self.plantings[0].plant_group

    def week_of(self, day: date) -> int | None:
        """Return the week to which a visit on a day belongs: the nearest; None before and after."""
        week = ((day - self.first_day).days + 3) // 7 + 1
        return week if self.first_day <= day and week <= self.weeks else None

    def egg_reach(self) -> EggReach:
        """Return how often eggs are to be reached at the temperatures expected."""
        return reach_of_eggs(
            self.pest.named(), self.pest.scientific_name, self.nights_f, self.afternoons_f
        )

"""One linear rule over the columns, and the grid of columns: a product in an open week each."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from math import inf

from treatments.rules.composing.candidates import application_of
from treatments.rules.composing.families import Family
from treatments.rules.composing.seasons import Season
from treatments.rules.facts import PastApplication, PlannedApplication
from treatments.rules.resistance import modes_of_action


@dataclass(frozen=True, slots=True)
class Row:
    """A bound on the sum of some columns, each times its weight (1 where there are none)."""

    family: Family | None  # None holds whatever is given up
    columns: Sequence[int]
    upper: float = inf
    lower: float = -inf
    weights: Sequence[float] | None = None


@dataclass(frozen=True)
class Grid:
    """The open weeks and the offers of a season as columns, week by week.

    visits_may_lapse: rules between neighbours also hold where a visit that is due is not made
    """

    season: Season
    visits_may_lapse: bool = False

    @cached_property
    def weeks(self) -> tuple[int, ...]:
        """The open weeks."""
        return self.season.open_weeks()

    @cached_property
    def days(self) -> list[date]:
        """Their days, rising."""
        return [self.season.days[week - 1] for week in self.weeks]

    @cached_property
    def width(self) -> int:
        """The number of offers."""
        return len(self.season.offers)

    @cached_property
    def histories(self) -> list[tuple[PastApplication, ...]]:
        """What was applied, planting by planting; plantings with the same history once."""
        histories: list[tuple[PastApplication, ...]] = []
        for treated in self.season.plantings:
            history = self.season.history_of(treated)
            if history not in histories:
                histories.append(history)
        return histories

    @cached_property
    def groups(self) -> dict[str, list[int]]:
        """The offers, by their place, that use each mode of action."""
        groups: dict[str, list[int]] = defaultdict(list)
        for place, offer in enumerate(self.season.offers):
            for group in modes_of_action(offer.product):
                groups[group].append(place)
        return dict(groups)

    @cached_property
    def labels(self) -> dict[str, list[int]]:
        """The offers, by their place, that go by each label."""
        labels: dict[str, list[int]] = defaultdict(list)
        for place, offer in enumerate(self.season.offers):
            labels[offer.product.label_key()].append(place)
        return dict(labels)

    @cached_property
    def years(self) -> dict[int, list[int]]:
        """The places of the open weeks in each calendar year."""
        years: dict[int, list[int]] = defaultdict(list)
        for place, day in enumerate(self.days):
            years[day.year].append(place)
        return dict(years)

    def may_be_left_out(self, place: int) -> bool:
        """Say whether an open week may go without a visit."""
        return self.visits_may_lapse or self.season.may_be_left_out(self.weeks[place])

    def sample(self, offer: int) -> PlannedApplication:
        """Return what an offer applies, on the first day."""
        return application_of(self.season, self.season.offers[offer], 0, self.season.days[0])

    def columns(self, places: Iterable[int], offers: Sequence[int]) -> list[int]:
        """Return the columns of some offers in some open weeks, by their places."""
        return [place * self.width + offer for place in places for offer in offers]

    def week_columns(self, place: int) -> range:
        """Return all columns of an open week."""
        return range(place * self.width, (place + 1) * self.width)

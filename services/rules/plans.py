"""What a plan of routes is made of: the stops to make, the crews' shifts, and what comes out.

Times are whole seconds from 00:00 of the plan's first day, by the local clock, so that a plan of
one day and a plan of a week are written alike.
"""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_FLOOR, Decimal
from enum import StrEnum
from functools import lru_cache

from services.rules.travel import Matrix, Point
from treatments.rules.findings import Finding

DAY = 86_400
BASE_PRIZE_SECONDS = 5_400  # what leaving a stop out counts, in driving; our own choice
LAST_DAY_FACTOR = 4  # our own choice
DAY_AWAY_SECONDS = 600  # what a day away from the planned one counts, in driving; our own choice
UNITS_PER_GALLON = 10  # the plan reckons in tenths of a gallon
CERTIFICATE = "certificate:"
FULL, ON_THE_SPOT = " in full", " on the spot"  # what else a certificate must be
EQUIPMENT = "equipment:"

Window = tuple[int, int]
Travel = Callable[[Sequence[Point]], Matrix]


class ImpossiblePlan(ValueError):
    """A stop or shift contradicts itself, or a plan breaks what it was given."""


@dataclass(frozen=True, slots=True)
class Stop:
    """A visit to be made on the way, with all that the way depends on.

    windows: when the work may START, one for each day and stretch on which it may
    needs: what the crew must have, as `certificate` and `equipment` name it
    spray_gallons: what is drawn from the truck's tank
    priority: how many usual stops it outweighs; prize_seconds replaces what follows from it
    last_day: the plan holds the last day on which the visit may be
    planned_day: the number of the plan's day for which the visit is planned; others count more
    mix: what the sprayer holds there, empty where nothing is sprayed; before another mix it is
        rinsed, where it was used, for rinse_seconds and with rinse_gallons of the truck's water
    client: stops of one client at one point with the same windows are made together
    no_window: the reason why there is no window, where the caller knows it
    """

    key: str
    point: Point
    windows: tuple[Window, ...]
    service_seconds: int
    needs: frozenset[str] = frozenset()
    spray_gallons: Decimal = Decimal(0)
    priority: int = 1
    last_day: bool = False
    client: str = ""
    name: str = ""
    prize_seconds: int | None = None
    no_window: Finding | None = None
    planned_day: int | None = None
    mix: str = ""
    rinse_seconds: int = 0
    rinse_gallons: Decimal = Decimal(0)

    def __post_init__(self) -> None:
        if any(opens > closes for opens, closes in self.windows):
            raise ImpossiblePlan(f"A window of {self.shown()} closes before it opens.")
        seconds = min(self.service_seconds, self.rinse_seconds)
        gallons = min(self.spray_gallons, self.rinse_gallons)
        if seconds < 0 or gallons < 0 or self.priority < 0:
            raise ImpossiblePlan(f"Work, spray and priority of {self.shown()} are not negative.")

    def shown(self) -> str:
        """Return how a person knows the stop."""
        return self.name or self.key

    def prize(self) -> int:
        """Return what leaving the stop out counts, in seconds of driving.

        >>> Stop("1", Point(0, 0), (), 0, priority=2, last_day=True).prize()
        43200
        """
        if self.prize_seconds is not None:
            return self.prize_seconds
        return BASE_PRIZE_SECONDS * self.priority * (LAST_DAY_FACTOR if self.last_day else 1)

    def away(self, day: int) -> int:
        """Return what it counts to make the stop on a day of the plan, in seconds of driving.

        >>> Stop("1", Point(0, 0), (), 0, planned_day=1).away(3)
        1200
        """
        return 0 if self.planned_day is None else DAY_AWAY_SECONDS * abs(day - self.planned_day)


@dataclass(frozen=True, slots=True)
class CrewShift:
    """A crew with its truck on one day: from the yard and back to it.

    has: certificates and equipment, as `certificate` and `equipment` name them
    lunch_seconds: 0 for no break; it starts between lunch_from and lunch_until of the shift's day
    """

    key: str
    yard: Point
    starts: int
    ends: int
    has: frozenset[str] = frozenset()
    tank_gallons: Decimal = Decimal(100)
    refill_seconds: int = 1_200
    lunch_seconds: int = 1_800
    name: str = ""
    lunch_from: int = 41_400  # 11:30; common practice
    lunch_until: int = 48_600  # 13:30; common practice
    maximum_refills: int = 2

    @property
    def day(self) -> int:
        """Return the number of the plan's day on which the shift is."""
        return self.starts // DAY

    def __post_init__(self) -> None:
        if self.starts > self.ends:
            raise ImpossiblePlan(f"The shift of {self.shown()} ends before it starts.")
        amounts = (self.refill_seconds, self.lunch_seconds, self.maximum_refills)
        if self.tank_gallons < 0 or min(amounts) < 0:
            raise ImpossiblePlan(f"Tank, refills and lunch of {self.shown()} are not negative.")

    def shown(self) -> str:
        """Return how a person knows the crew."""
        return self.name or self.key

    def lunch_window(self) -> Window | None:
        """Return between when the break starts, or None where the shift owes none."""
        midnight = self.starts // DAY * DAY
        opens = max(self.starts, midnight + self.lunch_from)
        closes = min(midnight + self.lunch_until, self.ends - self.lunch_seconds)
        return (opens, closes) if self.lunch_seconds and opens <= closes else None


class HaltKind(StrEnum):
    """What a crew halts for."""

    STOP = "stop"
    REFILL = "refill"
    LUNCH = "lunch"
    RINSE = "rinse"


@dataclass(frozen=True, slots=True)
class Halt:
    """One halt of a route; key is the stop's, of a rinse that of the stop at which it is made.

    For a refill and for lunch it is empty.
    """

    kind: HaltKind
    key: str
    arrives: int
    starts: int
    leaves: int
    drive_seconds: int = 0
    drive_metres: int = 0

    @property
    def waits(self) -> int:
        """Return the seconds between arriving and starting."""
        return self.starts - self.arrives


@dataclass(frozen=True, slots=True)
class Route:
    """A crew's way on a day: out of the yard, its halts in order, and back."""

    shift_key: str
    leaves: int
    halts: tuple[Halt, ...]
    returns: int
    back_seconds: int
    back_metres: int

    @property
    def travel_seconds(self) -> int:
        """Return the seconds on the road."""
        return self.back_seconds + sum(halt.drive_seconds for halt in self.halts)

    @property
    def travel_metres(self) -> int:
        """Return the meters on the road."""
        return self.back_metres + sum(halt.drive_metres for halt in self.halts)

    @property
    def stops(self) -> tuple[Halt, ...]:
        """Return the halts at which work is done, in order."""
        return tuple(halt for halt in self.halts if halt.kind is HaltKind.STOP)

    @property
    def lunch(self) -> Halt | None:
        """Return the break, or None where there is none."""
        return next((halt for halt in self.halts if halt.kind is HaltKind.LUNCH), None)


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A stop that no route makes, and why."""

    key: str
    reason: Finding


@dataclass(frozen=True, slots=True)
class Plan:
    """The routes of a day or of some days, what was left out, and what the whole counts.

    cost_seconds: the driving, the prizes of the stops left out, and what days away count
    """

    routes: tuple[Route, ...]
    left_out: tuple[LeftOut, ...]
    cost_seconds: int


def ending_by(window: Window, service_seconds: int) -> Window | None:
    """Return when work may start that must be over when a window closes, or None if never.

    >>> ending_by((64_800, 72_000), 1_800)
    (64800, 70200)
    """
    opens, closes = window
    return (opens, closes - service_seconds) if opens <= closes - service_seconds else None


def certificate(category: str) -> str:
    """Return the need of a certificate category.

    >>> certificate("3A")
    'certificate:3A'
    """
    return CERTIFICATE + category


def equipment(name: str) -> str:
    """Return the need of a piece of equipment.

    >>> equipment("injector")
    'equipment:injector'
    """
    return EQUIPMENT + name


def bare(needs: Iterable[str]) -> str:
    """Return needs as a person reads them, in order; a category with its place in brackets.

    >>> bare({"equipment:injector", "certificate:3A@US-PA on the spot"})
    '3A (US-PA), injector'
    """
    return ", ".join(_read(need) for need in sorted(needs))


def _read(need: str) -> str:
    name = need.removeprefix(CERTIFICATE).removeprefix(EQUIPMENT)
    category, _at, place = name.partition("@")
    if not (place and need.startswith(CERTIFICATE)):
        return name
    return f"{category} ({place.removesuffix(ON_THE_SPOT).removesuffix(FULL)})"


@lru_cache(maxsize=4096)
def stop_units(gallons: Decimal) -> int:
    """Return what a stop draws in the plan's units, rounded up.

    >>> stop_units(Decimal("2.01"))
    21
    """
    return int((gallons * UNITS_PER_GALLON).to_integral_value(ROUND_CEILING))


def tank_units(gallons: Decimal) -> int:
    """Return what a tank holds in the plan's units, rounded down.

    >>> tank_units(Decimal("100.09"))
    1000
    """
    return int((gallons * UNITS_PER_GALLON).to_integral_value(ROUND_FLOOR))

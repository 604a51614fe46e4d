"""Within how many days eggs must be reached again, from the heat that a pest takes.

An egg that no visit met becomes a female that lays.  Between two visits that reach eggs there lies
no more heat than that takes, so that every egg is met, as an egg or by those that reach what moves,
before there are eggs of its own.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from math import ceil, floor
from statistics import fmean

from treatments.rules.degree_days import DayTemperature, Scale, degree_days, fahrenheit_degree_days
from treatments.rules.degree_days.one_day import convert
from treatments.rules.findings import Finding, Severity, as_marked, gettext_noop
from treatments.rules.population import MITE_HEAT, TWO_SPOTTED, generation_heat
from treatments.rules.table_files import read_toml

WEEK = 7  # days; also how soon a visit follows where nothing is published: common practice
KNOWN = {"tetranychus urticae": TWO_SPOTTED}

EVERY = gettext_noop(
    "At %(nights)s to %(afternoons)s °F the %(pest)s takes about %(days)s days from egg to laying "
    "female (%(heat)s degree-days over 50 °F). So something that reaches eggs comes at least every "
    "%(days)s days."
)
TOO_COLD = gettext_noop(
    "At %(nights)s to %(afternoons)s °F the %(pest)s does not develop. That eggs are reached in "
    "time is not asked."
)
IN_DAYS = gettext_noop(
    "The %(pest)s takes %(least)s to %(most)s days from egg to adult; how that goes with heat is "
    "not published. So something that reaches eggs comes at least every %(days)s days."
)
LIVE_YOUNG = gettext_noop(
    "The %(pest)s bears live young in summer, a generation in 7 to 10 days of warmth (from "
    "memory): there are no eggs to reach. A visit follows within %(days)s days."
)
IN_THE_LEAF = gettext_noop(
    "Eggs of the %(pest)s lie in the leaf, where sprays miss them (from memory). A visit follows "
    "within %(days)s days and meets what has hatched."
)
NOT_PUBLISHED = gettext_noop(
    "No figure is published of how soon eggs of the %(pest)s must be met again. By common practice "
    "a visit follows within %(days)s days and meets what has hatched; that eggs are reached is not "
    "asked."
)
NO_WEATHER = gettext_noop(
    "No temperatures were given, so how soon eggs must be met again is not known. By common "
    "practice a visit follows within %(days)s days and meets what has hatched."
)
LOOK_YOURSELF = gettext_noop("See to it by the counts.")
WHY_NO_EGGS = {"live young": LIVE_YOUNG, "in the leaf": IN_THE_LEAF}


@dataclass(frozen=True, slots=True)
class EggReach:
    """The days within which eggs are reached again and those of a generation, and that in words.

    days, generation_days: None where heat or pest are not known
    visit_days: within which a visit follows another where eggs are not timed; else None
    """

    days: int | None
    generation_days: int | None
    finding: Finding
    visit_days: int | None = None


def reach_of_eggs(
    pest: str,
    scientific_name: str,
    minimum_f: Decimal | None,
    maximum_f: Decimal | None,
) -> EggReach:
    """Return how often eggs of a pest must be reached at the temperatures expected.

    pest: its common name, for the sentence
    minimum_f, maximum_f: of a night and a day of the warmest week, in degrees Fahrenheit

    The two-spotted mite goes by heat: from egg to laying female, by the sums of its stages
    [CANENT-1981] [EAJBS-12844], rounded down; a generation is longer and is rounded up: both to
    the safe side.  Of other pests the least and the most days that were published are taken.
    Where none were, the sentence says so and visits follow within a week.

    >>> mild = Decimal(68)
    >>> reach = reach_of_eggs("two-spotted spider mite", "Tetranychus urticae", mild, mild)
    >>> reach.days, reach.generation_days
    (15, 23)
    """
    facts: dict[str, object] = {
        "pest": as_marked(pest),
        "nights": minimum_f,
        "afternoons": maximum_f,
    }
    mite = KNOWN.get(scientific_name.strip().casefold())
    if mite is None:
        return _by_days(pest)
    if minimum_f is None or maximum_f is None:
        return _not_asked("egg-weather-unknown", NO_WEATHER, facts, WEEK)
    a_day = heat_of_a_day(minimum_f, maximum_f)
    if a_day <= 0:
        return _not_asked("egg-too-cold", TOO_COLD, facts)
    heat = float(sum(mite.stage_heats()))
    days = max(1, floor(heat / a_day))
    facts |= {"days": days, "heat": f"{fahrenheit_degree_days(heat):.0f}"}
    finding = Finding("egg-reach", Severity.NOTE, EVERY, "", facts, "CANENT-1981")
    return EggReach(days, ceil(generation_heat(mite) / a_day), finding)


def heat_of_a_day(minimum_f: Decimal, maximum_f: Decimal) -> float:
    """Return the Celsius degree-days of a day by the mite's own model.

    >>> heat_of_a_day(Decimal(68), Decimal(68))
    10.0
    """
    lowest, highest = (
        convert(float(each), Scale.FAHRENHEIT, Scale.CELSIUS) for each in (minimum_f, maximum_f)
    )
    return degree_days(lowest, highest, MITE_HEAT)


def warmest_week(days: Sequence[DayTemperature]) -> tuple[Decimal, Decimal] | None:
    """Return the mean night and day of the warmest seven days, in whole degrees Fahrenheit.

    days: in their order; gaps are passed over, and fewer than seven tell nothing

    >>> from datetime import date
    >>> mild = [DayTemperature(date(2026, 7, n), 15.0, 25.0) for n in range(1, 8)]
    >>> warmest_week([*mild, DayTemperature(date(2026, 7, 8), 22.0, 32.0)])
    (Decimal('61'), Decimal('79'))
    """
    told = [day.in_scale(Scale.FAHRENHEIT) for day in days]
    weeks = [told[start : start + WEEK] for start in range(len(told) - WEEK + 1)]
    if not weeks:
        return None
    lows, highs = max((_means(week) for week in weeks), key=sum)
    return Decimal(round(lows)), Decimal(round(highs))


def _means(days: Sequence[DayTemperature]) -> tuple[float, float]:
    return fmean(day.minimum for day in days), fmean(day.maximum for day in days)


def _by_days(pest: str) -> EggReach:
    """Return what the table of life cycles knows of a pest, or that nothing is published."""
    name, tables = pest.strip().casefold(), read_toml("life_cycles")
    facts: dict[str, object] = {"pest": as_marked(pest)}
    for row in tables["cycle"]:
        if row["pest"] in name:
            least, most = row["least_days"], row["most_days"]
            facts |= {"least": least, "most": most, "days": least}
            finding = Finding("egg-reach", Severity.NOTE, IN_DAYS, "", facts, row["source"])
            return EggReach(least, most, finding)
    for row in tables["no_eggs"]:
        if row["pest"] in name:
            return _not_asked("egg-none", WHY_NO_EGGS[row["why"]], facts, row["within_days"])
    return _not_asked("egg-heat-unknown", NOT_PUBLISHED, facts, WEEK)


def _not_asked(
    code: str, sentence: str, facts: dict[str, object], within_days: int | None = None
) -> EggReach:
    facts = facts | {"days": within_days}
    finding = Finding(code, Severity.NOTE, sentence, LOOK_YOURSELF, facts, "common practice")
    return EggReach(None, None, finding, within_days)

"""Flowers and bees: what the label forbids in bloom, and what reaches into it.

Labels of some systemic products say: not while bees forage, and not until flowering is complete
and all petals have fallen [EPA-BEES].  What is very dangerous to bees is not put on plants in
bloom, what is dangerous only while bees do not fly [UC-IPM-BEES].  A day of the year is written
"MM-DD"; a bloom may run over the end of the year.
"""

import re
from datetime import date, timedelta

from treatments.rules.facts import (
    BloomRule,
    IngredientFacts,
    PlannedApplication,
    PlantingFacts,
    ProductFacts,
    SeparationClass,
)
from treatments.rules.findings import Counted, Finding, Marked, Severity, gettext_noop

IN_BLOOM = gettext_noop(
    "%(planting)s is in bloom on %(day)s; the label of %(product)s forbids that."
)
PETALS_NOT_FALLEN = gettext_noop(
    "%(planting)s has not dropped its petals by %(day)s; the label of %(product)s asks for that."
)
BEFORE_BLOOM = gettext_noop(
    "%(planting)s has its bloom still before it on %(day)s; the label of %(product)s asks that "
    "flowering is over."
)
AFTER_BLOOM = gettext_noop("Not before %(after)s and when the petals have fallen.")
FORAGING = gettext_noop(
    "%(planting)s is in bloom on %(day)s and bees fly to it; the label of %(product)s forbids "
    "that while they forage."
)
AT_DUSK = gettext_noop("Treat at dusk, when no bee flies, or after %(after)s.")
DUSK_NOTE = gettext_noop(
    "%(planting)s is in bloom: %(product)s only while no bee is on it. Dusk is also when the air "
    "grows still; wait for at least 3 mph of wind."
)
REACHES_BLOOM = Counted(
    gettext_noop(
        "%(active)s moves into pollen and lasts %(days)s days: from %(day)s it reaches into the "
        "bloom of %(planting)s, which begins %(bloom)s."
    ),
    gettext_noop(
        "%(active)s moves into pollen and lasts %(days)s day: from %(day)s it reaches into the "
        "bloom of %(planting)s, which begins %(bloom)s."
    ),
    "days",
)
NOT_AFTER = gettext_noop("Not after %(last)s, or once the bloom is over.")
HAZARD_IN_BLOOM = gettext_noop(
    "%(active)s is very dangerous to bees, and they visit %(planting)s, which is in bloom on "
    "%(day)s."
)
HAZARD_BY_DAY = gettext_noop(
    "%(active)s is dangerous to bees, and they visit %(planting)s, which is in bloom on %(day)s."
)
HIVES_NEAR = gettext_noop("Bees are kept near %(planting)s, and %(active)s is dangerous to them.")
TELL_KEEPER = gettext_noop("Tell the keeper, treat at dusk and let nothing drift.")
OPEN_FLOWERS = gettext_noop("%(family)s (%(product)s) spoils the open flowers of %(planting)s.")

MONTH_AND_DAY = re.compile(r"(0[1-9]|1[0-2])-(0[1-9]|[12]\d|3[01])")


class BloomSeasonMalformed(ValueError):
    """The bloom has one end only, or an end that is not a day of the year."""


def blooms_on(day: date, start: str, end: str) -> bool:
    """Say whether a plant blooms on a day, both ends of its season included.

    start, end: "MM-DD", both empty for a plant whose bloom does not matter

    Raise BloomSeasonMalformed for one end without the other.

    >>> blooms_on(date(2026, 1, 5), "12-20", "02-10")
    True
    """
    if not start and not end:
        return False
    if not (MONTH_AND_DAY.fullmatch(start) and MONTH_AND_DAY.fullmatch(end)):
        raise BloomSeasonMalformed(f"A bloom from {start!r} to {end!r} needs two days, as MM-DD.")
    today = f"{day:%m-%d}"
    if start <= end:
        return start <= today <= end
    return today >= start or today <= end


def next_on(day: date, month_and_day: str) -> date:
    """Return the first date from `day` on that is this day of the year.

    The 29th of February stands for the 28th in years without it.

    >>> next_on(date(2026, 6, 2), "05-15")
    datetime.date(2027, 5, 15)
    """
    this_year = _in_year(day.year, month_and_day)
    return this_year if this_year >= day else _in_year(day.year + 1, month_and_day)


def _in_year(year: int, month_and_day: str) -> date:
    month, day = (int(part) for part in month_and_day.split("-"))
    last = 28 if (month, day) == (2, 29) and not _is_leap(year) else day
    return date(year, month, last)


def _is_leap(year: int) -> bool:
    return year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)


def check_pollinators(application: PlannedApplication, planting: PlantingFacts) -> list[Finding]:
    """Return what bloom and bees forbid on the day of an application."""
    if not planting.bloom_start and not planting.bloom_end:
        return _near_hives(application, planting)
    blooming = blooms_on(application.day, planting.bloom_start, planting.bloom_end)
    findings = _by_label(application, planting, blooming)
    if blooming:
        findings += _hazard(application, planting) + _open_flowers(application, planting)
    else:
        findings += _reaching(application, planting)
    return findings + _near_hives(application, planting)


def _facts(application: PlannedApplication, planting: PlantingFacts) -> dict[str, object]:
    facts: dict[str, object] = {
        "product": application.product.name,
        "planting": planting.name,
        "day": application.day,
    }
    if planting.bloom_end:
        facts["after"] = next_on(application.day, planting.bloom_end)
    return facts


def _by_label(
    application: PlannedApplication, planting: PlantingFacts, blooming: bool
) -> list[Finding]:
    rule, facts = application.product.bloom_rule, _facts(application, planting)
    if rule is BloomRule.UNTIL_PETALS_FALL:
        return _petals(application, planting, blooming, facts)
    if not blooming or rule is BloomRule.NONE:
        return []
    if rule is BloomRule.NOT_IN_BLOOM:
        return [Finding("in-bloom", Severity.REFUSAL, IN_BLOOM, AFTER_BLOOM, facts)]
    if application.at_dusk:
        return [Finding("bloom-at-dusk", Severity.NOTE, DUSK_NOTE, "", facts)]
    return [Finding("bees-forage", Severity.REFUSAL, FORAGING, AT_DUSK, facts)]


def _petals(
    application: PlannedApplication,
    planting: PlantingFacts,
    blooming: bool,
    facts: dict[str, object],
) -> list[Finding]:
    if blooming:
        return [
            Finding("petals-not-fallen", Severity.REFUSAL, PETALS_NOT_FALLEN, AFTER_BLOOM, facts)
        ]
    # Which bloom is meant, the last or the next, is told by which is nearer.
    ahead = (next_on(application.day, planting.bloom_start) - application.day).days
    behind = 365 - (next_on(application.day, planting.bloom_end) - application.day).days
    if ahead >= behind:
        return []
    return [Finding("before-bloom", Severity.WARNING, BEFORE_BLOOM, AFTER_BLOOM, facts)]


def _visited(planting: PlantingFacts) -> bool:
    return planting.attracts_bees or planting.bees_near


def _hazard(application: PlannedApplication, planting: PlantingFacts) -> list[Finding]:
    active = _worst(application.product)
    if not active or not _visited(planting):
        return []
    facts = _facts(application, planting) | {"active": active.name}
    if active.bee_hazard == "high":
        return [
            Finding(
                "bee-hazard",
                Severity.WARNING,
                HAZARD_IN_BLOOM,
                AFTER_BLOOM,
                facts,
                "UC-IPM-BEES",
            )
        ]
    if application.at_dusk:
        return []
    return [
        Finding("bee-hazard-by-day", Severity.WARNING, HAZARD_BY_DAY, AT_DUSK, facts, "UC-IPM-BEES")
    ]


def _worst(product: ProductFacts) -> IngredientFacts | None:
    for hazard in ("high", "moderate"):
        for ingredient in product.ingredients:
            if ingredient.bee_hazard == hazard:
                return ingredient
    return None


def _open_flowers(application: PlannedApplication, planting: PlantingFacts) -> list[Finding]:
    families = application.product.separation_classes()
    return [
        Finding(
            "open-flowers",
            Severity.WARNING,
            OPEN_FLOWERS,
            AFTER_BLOOM,
            _facts(application, planting) | {"family": Marked(family.value)},
            "common practice",
        )
        for family in (SeparationClass.OIL, SeparationClass.SOAP)
        if family in families
    ]


def _reaching(application: PlannedApplication, planting: PlantingFacts) -> list[Finding]:
    if not _visited(planting):
        return []
    bloom = next_on(application.day, planting.bloom_start)
    forbids = application.product.bloom_rule in (
        BloomRule.UNTIL_PETALS_FALL,
        BloomRule.NOT_IN_BLOOM,
    )
    severity = Severity.REFUSAL if forbids else Severity.WARNING
    return [
        Finding(
            "reaches-bloom",
            severity,
            REACHES_BLOOM,
            NOT_AFTER,
            _facts(application, planting)
            | {
                "active": active.name,
                "days": active.residual_days,
                "bloom": bloom,
                "last": bloom - timedelta(days=active.residual_days + 1),
            },
            "EPA-BEES",
        )
        for active in application.product.ingredients
        if active.moves_into_pollen
        if application.day + timedelta(days=active.residual_days) >= bloom
    ]


def _near_hives(application: PlannedApplication, planting: PlantingFacts) -> list[Finding]:
    active = _worst(application.product)
    if not planting.bees_near or active is None or active.bee_hazard != "high":
        return []
    if application.at_dusk:
        return []
    facts = _facts(application, planting) | {"active": active.name}
    return [Finding("hives-near", Severity.WARNING, HIVES_NEAR, TELL_KEEPER, facts, "UC-IPM-BEES")]

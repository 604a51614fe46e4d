"""Whether one mode of action follows itself, which breeds resistance.

Successive generations of a pest are not treated with one mode-of-action group [IRAC-MOA].  The
number is compared (10A is 10B, 20B is 20D), the subgroup is told.  A product with two actives
uses both groups.  Soap, mineral oil (UNM) and plant extracts such as neem oil (UNE) work
physically or are not classified and never count; materials of unknown action (UN: azadirachtin,
sulfur) are each a group of their own [IRAC].  Fungicides count by their FRAC code, save the
multi-site (M) and the not classified (NC) [FRAC].
"""

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from treatments.rules.facts import (
    Applied,
    IngredientFacts,
    PastApplication,
    PlannedApplication,
    ProductFacts,
    in_date_order,
)
from treatments.rules.findings import Counted, Finding, Severity, gettext_noop

REPEATED = gettext_noop(
    "%(product)s (%(subgroup)s) on %(day)s follows %(other)s (%(other_subgroup)s) on "
    "%(other_day)s: group %(group)s again."
)
NEXT_GENERATION = Counted(
    gettext_noop(
        "%(product)s (%(subgroup)s) on %(day)s comes %(days)s days after %(other)s "
        "(%(other_subgroup)s): group %(group)s meets this generation of the pest and the next."
    ),
    gettext_noop(
        "%(product)s (%(subgroup)s) on %(day)s comes %(days)s day after %(other)s "
        "(%(other_subgroup)s): group %(group)s meets this generation of the pest and the next."
    ),
    "days",
)
ANOTHER_GROUP = gettext_noop("Choose a product that works differently from group %(group)s.")
TOO_OFTEN = gettext_noop(
    "Group %(group)s is used %(count)s times in %(year)s, counting what was applied before; more "
    "than %(limit)s breed resistance."
)

USES_A_SEASON = 2  # of one group, before it is warned of: common practice
NEIGHBOUR_DAYS = 28  # common practice: applications farther apart are no neighbours
NEVER_COUNTED = {"", "UNM", "UNE", "NC"}  # [IRAC] [FRAC]
NUMBERED = re.compile(r"(\d+)([A-Z]?)")


@dataclass(frozen=True, slots=True)
class Use:
    """One use of a mode of action: on a day, by a product, with the subgroup as printed."""

    group: str
    subgroup: str
    application: Applied

    @property
    def day(self) -> date:
        """The day of the use."""
        return self.application.day

    @property
    def product(self) -> ProductFacts:
        """The product that was used."""
        return self.application.product


def counted_group(code: str, ingredient: str = "") -> str:
    """Return the group that counts for an IRAC code, or an empty text for one that never does.

    code: as printed on the label, such as "10A" or "UN"
    ingredient: its common name, which tells one material of unknown action from another

    >>> counted_group("10A"), counted_group("20D"), counted_group("UNM")
    ('10', '20', '')
    >>> counted_group("UN", "azadirachtin")
    'UN azadirachtin'
    """
    if code in NEVER_COUNTED:
        return ""
    if match := NUMBERED.fullmatch(code):
        return match.group(1)
    return f"{code} {ingredient}".strip()


def modes_of_action(product: ProductFacts) -> dict[str, str]:
    """Return the groups a product counts in, each with the subgroup as printed.

    A fungicide's group is written "FRAC 29", so that it never meets an insecticide's number.
    """
    groups = {}
    for ingredient in product.ingredients:
        if group := counted_group(ingredient.irac_group, ingredient.name):
            groups[group] = ingredient.irac_group
        if code := _counted_fungicide(ingredient):
            groups[f"FRAC {code}"] = f"FRAC {code}"
    return groups


def _counted_fungicide(ingredient: IngredientFacts) -> str:
    code = ingredient.frac_group
    return "" if code in NEVER_COUNTED or code.startswith("M") else code


def group_counts(applied: Sequence[Applied], year: int) -> Mapping[str, int]:
    """Return how often each group is used in a calendar year, on different days."""
    return {
        group: len({use.day for use in uses if use.day.year == year})
        for group, uses in _uses_by_group(applied).items()
    }


def _uses_by_group(applied: Sequence[Applied]) -> dict[str, list[Use]]:
    uses: dict[str, list[Use]] = defaultdict(list)
    for application in sorted(applied, key=lambda each: each.day):
        for group, subgroup in modes_of_action(application.product).items():
            uses[group].append(Use(group, subgroup, application))
    return uses


def check_resistance(
    applications: Sequence[PlannedApplication],
    history: Sequence[PastApplication] = (),
    *,
    generation_days: int | None = None,
    uses_a_season: int = USES_A_SEASON,
) -> list[Finding]:
    """Return a warning for each planned application that repeats a mode of action.

    generation_days: length of the pest's generation in days at the weather expected; uses less
        than two of them apart meet one generation or adjoining ones.  None: only neighbouring
        applications are compared.
    uses_a_season: uses of one group in a calendar year, history included, without a warning
    """
    applied = in_date_order(applications, history)
    neighbours = _neighbouring_days(applied)
    findings: list[Finding] = []
    for uses in _uses_by_group(applied).values():
        findings += _repeated(uses, neighbours, generation_days)
        findings += _too_often(uses, uses_a_season)
    return findings


def _neighbouring_days(applied: Sequence[Applied]) -> set[tuple[date, date]]:
    days = pairwise(sorted({application.day for application in applied}))
    return {(first, second) for first, second in days if (second - first).days <= NEIGHBOUR_DAYS}


def _repeated(
    uses: Sequence[Use], neighbours: set[tuple[date, date]], generation_days: int | None
) -> Iterator[Finding]:
    for earlier, later in pairwise(uses):
        told = _planned(later) or _planned(earlier)
        if told is None or later.day == earlier.day:
            continue
        if (earlier.day, later.day) in neighbours:
            yield _finding("group-repeated", REPEATED, earlier, later, told)
        elif generation_days and (later.day - earlier.day).days < 2 * generation_days:
            yield _finding("group-next-generation", NEXT_GENERATION, earlier, later, told)


def _planned(use: Use) -> PlannedApplication | None:
    return use.application if isinstance(use.application, PlannedApplication) else None


def _finding(
    code: str, sentence: str, earlier: Use, later: Use, told: PlannedApplication
) -> Finding:
    facts = {
        "group": later.group,
        "product": later.product.name,
        "subgroup": later.subgroup,
        "day": later.day,
        "other": earlier.product.name,
        "other_subgroup": earlier.subgroup,
        "other_day": earlier.day,
        "days": (later.day - earlier.day).days,
    }
    source = "FRAC" if later.group.startswith("FRAC") else "IRAC-MOA"
    return Finding(code, Severity.WARNING, sentence, ANOTHER_GROUP, facts, source, told.week)


def _too_often(uses: Sequence[Use], limit: int) -> Iterator[Finding]:
    days: dict[int, set[date]] = defaultdict(set)
    for use in uses:
        days[use.day.year].add(use.day)
        count = len(days[use.day.year])
        told = _planned(use)
        if count > limit and told:
            facts = {"group": use.group, "count": count, "year": use.day.year, "limit": limit}
            yield Finding(
                "group-too-often",
                Severity.WARNING,
                TOO_OFTEN,
                ANOTHER_GROUP,
                facts,
                "common practice",
                told.week,
            )

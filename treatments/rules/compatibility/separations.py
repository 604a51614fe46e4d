"""Families of ingredients that are kept days apart, such as oil and sulfur.

Most oil labels ask for 30 days [OIL-LABEL-30]; UC asks for two weeks [UC-IPM-PN7493].  The
strictest holds unless the products' own labels name a figure, and never under the floor.
"""

from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import timedelta
from typing import Any

from treatments.rules.facts import (
    Applied,
    PastApplication,
    PlannedApplication,
    ProductFacts,
    in_date_order,
)
from treatments.rules.findings import Counted, Finding, Marked, Severity, gettext_noop
from treatments.rules.table_files import read_toml

TOO_CLOSE = Counted(
    gettext_noop(
        "%(product)s (%(family)s) on %(day)s lies %(days)s days from %(other)s (%(other_family)s) "
        "on %(other_day)s; they are kept %(limit)s days apart."
    ),
    gettext_noop(
        "%(product)s (%(family)s) on %(day)s lies %(days)s day from %(other)s (%(other_family)s) "
        "on %(other_day)s; they are kept %(limit)s days apart."
    ),
    "days",
)
MOVE = gettext_noop("Not before %(earliest)s, or use a product of another family.")
NOT_TOGETHER = gettext_noop(
    "%(product)s (%(family)s) and %(other)s (%(other_family)s) do not go into one tank."
)
ANOTHER_DAY = gettext_noop("Apply one of them on another day.")


def days_apart(rule: dict[str, Any], first: ProductFacts, second: ProductFacts) -> int:
    """Return the days between two products: their labels' figure, else the table's.

    Where both labels name one the longer holds; nothing goes under the table's floor.
    """
    named = [each.separation_days for each in (first, second) if each.separation_days is not None]
    return max(max(named, default=rule["days"]), rule["floor_days"])


def check_separations(
    applications: Sequence[PlannedApplication], history: Sequence[PastApplication] = ()
) -> list[Finding]:
    """Return what stands too close: each planned day against the others and the records."""
    by_family = _by_family(in_date_order(applications, history))
    table = read_toml("separations")
    return [
        finding
        for rule in table["apart"]
        for first, second in _near_pairs(by_family, rule)
        for finding in _too_close(rule, first, second)
    ] + [
        finding
        for rule in table["tank"]
        for first, second in _near_pairs(by_family, rule)
        for finding in _together(rule, first, second)
    ]


def _by_family(applied: Sequence[Applied]) -> dict[str, list[Applied]]:
    families: dict[str, list[Applied]] = defaultdict(list)
    for application in applied:
        for family in application.product.separation_classes():
            families[family.value].append(application)
    return families


def _near_pairs(
    by_family: dict[str, list[Applied]], rule: dict[str, Any]
) -> Iterator[tuple[Applied, Applied]]:
    """Yield, for each planned application, its nearest neighbours of the other family."""
    for mine, theirs in ((rule["first"], rule["second"]), (rule["second"], rule["first"])):
        others = by_family.get(theirs, [])
        for application in by_family.get(mine, []):
            place = bisect_left(others, application.day, key=lambda each: each.day)
            for other in others[max(0, place - 1) : place + 1]:
                if _speaks_first(application, other):
                    yield application, other


def _speaks_first(application: Applied, other: Applied) -> bool:
    """Say whether the pair is told from this side: the later planned day, once."""
    if not isinstance(application, PlannedApplication):
        return False
    if not isinstance(other, PlannedApplication):
        return True
    mine = (application.day, application.product.label_key())
    return mine > (other.day, other.product.label_key())


def _too_close(rule: dict[str, Any], later: Applied, earlier: Applied) -> list[Finding]:
    limit = days_apart(rule, later.product, earlier.product)
    days = abs((later.day - earlier.day).days)
    if days >= limit or later.product is earlier.product:
        return []
    first = min(later.day, earlier.day)
    facts = _names(rule, later, earlier) | {
        "days": days,
        "limit": limit,
        "earliest": first + timedelta(days=limit),
    }
    severity = Severity(rule["severity"])
    return [Finding("kept-apart", severity, TOO_CLOSE, MOVE, facts, rule["source"], _week(later))]


def _together(rule: dict[str, Any], one: Applied, other: Applied) -> list[Finding]:
    if one.day != other.day:
        return []
    facts = _names(rule, one, other)
    return [
        Finding(
            "not-in-one-tank",
            Severity.WARNING,
            NOT_TOGETHER,
            ANOTHER_DAY,
            facts,
            rule["source"],
            _week(one),
        )
    ]


def _week(application: Applied) -> int | None:
    return application.week if isinstance(application, PlannedApplication) else None


def _names(rule: dict[str, Any], one: Applied, other: Applied) -> dict[str, object]:
    turned = rule["first"] not in one.product.separation_classes()
    families = (rule["second"], rule["first"]) if turned else (rule["first"], rule["second"])
    return {
        "product": one.product.name,
        "family": Marked(families[0]),
        "day": one.day,
        "other": other.product.name,
        "other_family": Marked(families[1]),
        "other_day": other.day,
    }

"""The days a label asks for between applications and before a harvest, by real dates."""

from collections import defaultdict
from collections.abc import Sequence
from datetime import date, timedelta
from itertools import pairwise

from treatments.rules.facts import (
    Applied,
    PastApplication,
    PlannedApplication,
    PlantingFacts,
    in_date_order,
)
from treatments.rules.findings import Counted, Finding, Severity, gettext_noop

TOO_SOON = Counted(
    gettext_noop(
        "%(product)s on %(day)s comes %(days)s days after %(before)s; the label asks for %(limit)s."
    ),
    gettext_noop(
        "%(product)s on %(day)s comes %(days)s day after %(before)s; the label asks for %(limit)s."
    ),
    "days",
)
WAIT = gettext_noop("Not before %(earliest)s, or use another product.")
BEFORE_HARVEST = Counted(
    gettext_noop(
        "%(product)s on %(day)s is %(days)s days before the harvest of %(planting)s; the label "
        "asks for %(limit)s."
    ),
    gettext_noop(
        "%(product)s on %(day)s is %(days)s day before the harvest of %(planting)s; the label asks "
        "for %(limit)s."
    ),
    "days",
)
HARVEST_LATER = gettext_noop("Harvest not before %(earliest)s, or use another product.")
NO_HARVEST_BEFORE = gettext_noop("Nothing of %(planting)s may be harvested before %(earliest)s.")
HARVEST_UNNAMED = gettext_noop(
    "%(planting)s is eaten from and the label copy of %(product)s names no days to harvest."
)
READ_LABEL = gettext_noop("Read the label: without the days, do not treat what is eaten.")


def check_intervals(
    applications: Sequence[PlannedApplication], history: Sequence[PastApplication] = ()
) -> list[Finding]:
    """Return a refusal for each application sooner after the last than the label allows.

    Each planned day is held against the one before it and, where the record is later than the
    plan, against the one after it.  Days are calendar days.
    """
    by_label: dict[str, list[Applied]] = defaultdict(list)
    for application in in_date_order(applications, history):
        by_label[application.product.label_key()].append(application)
    return [
        finding
        for applied in by_label.values()
        for earlier, later in pairwise(applied)
        for finding in _too_soon(earlier, later)
    ]


def _too_soon(earlier: Applied, later: Applied) -> list[Finding]:
    planned = [each for each in (later, earlier) if isinstance(each, PlannedApplication)]
    if not planned:
        return []
    limit = planned[0].product.minimum_interval_days
    days = (later.day - earlier.day).days
    if limit is None or days >= limit:
        return []
    facts = {
        "product": later.product.name,
        "day": later.day,
        "before": earlier.day,
        "days": days,
        "limit": limit,
        "earliest": earlier.day + timedelta(days=limit),
    }
    return [
        Finding(
            "interval-too-short",
            Severity.REFUSAL,
            TOO_SOON,
            WAIT,
            facts,
            week=planned[0].week,
        )
    ]


def check_preharvest(application: PlannedApplication, planting: PlantingFacts) -> list[Finding]:
    """Return what the days to harvest ask of something that is eaten."""
    if not planting.edible:
        return []
    product, limit = application.product, application.product.preharvest_days
    facts: dict[str, object] = {
        "product": product.name,
        "planting": planting.name,
        "day": application.day,
    }
    if limit is None:
        return [Finding("preharvest-unnamed", Severity.WARNING, HARVEST_UNNAMED, READ_LABEL, facts)]
    facts |= {"limit": limit, "earliest": application.day + timedelta(days=limit)}
    return _harvest(application.day, limit, planting.harvest_on, facts)


def _harvest(
    day: date, limit: int, harvest_on: date | None, facts: dict[str, object]
) -> list[Finding]:
    if harvest_on is None:
        return [Finding("harvest-later", Severity.NOTE, NO_HARVEST_BEFORE, "", facts)]
    days = (harvest_on - day).days
    if not 0 <= days < limit:
        return []
    facts = facts | {"days": days}
    return [Finding("preharvest-too-short", Severity.REFUSAL, BEFORE_HARVEST, HARVEST_LATER, facts)]

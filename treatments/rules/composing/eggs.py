"""Whether eggs are reached in time: again within so many days, as the heat has them hatch."""

from collections.abc import Sequence

from treatments.rules.composing.seasons import Season
from treatments.rules.composing.visit_rows import reaches_eggs
from treatments.rules.composing.windows import late_after
from treatments.rules.facts import PlannedApplication
from treatments.rules.findings import Counted, Finding, Severity, gettext_noop

LATE = Counted(
    gettext_noop(
        "Nothing reaches eggs from %(since)s to %(due)s and in time after; at most %(days)s days "
        "may lie between two that do."
    ),
    gettext_noop(
        "Nothing reaches eggs from %(since)s to %(due)s and in time after; at most %(days)s day "
        "may lie between two that do."
    ),
    "days",
)
REACH = gettext_noop("Use a product that acts on eggs by %(due)s.")


def check_eggs(season: Season, applications: Sequence[PlannedApplication]) -> list[Finding]:
    """Return a warning for each stretch of a season in which eggs are left alone too long."""
    if season.egg_reach_days is None:
        return []
    first, last = season.days[0], season.days[-1]
    planned = [each.day for each in applications if reaches_eggs(each.product)]
    late = {
        stretch
        for treated in season.plantings
        for stretch in late_after(
            planned
            + [each.day for each in season.history_of(treated) if reaches_eggs(each.product)],
            season.egg_reach_days,
            first,
            last,
        )
    }
    return [
        Finding(
            "eggs-late",
            Severity.WARNING,
            LATE,
            REACH,
            {"since": since, "due": due, "days": season.egg_reach_days},
            "common practice",
        )
        for since, due in sorted(late)
    ]

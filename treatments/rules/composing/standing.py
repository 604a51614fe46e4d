"""How each product stands in each week: proposed, allowed, or in a word what keeps it out."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from treatments.rules.composing.families import FAMILY_OF_REFUSAL, Family
from treatments.rules.composing.plans import Plan
from treatments.rules.composing.reasons import Reasons
from treatments.rules.composing.seasons import Season
from treatments.rules.findings import Finding, Marked, Severity, gettext_noop


class Stands(StrEnum):
    """How a product stands in a week."""

    PROPOSED = "proposed"
    ALLOWED = "allowed"
    OTHER_WEEKS = "other weeks"  # keep it out, as the plan has them
    KEPT_OUT = "kept out"  # by itself, whatever the other weeks are
    DONE = "done"  # the week stands in the records


WORDS: dict[Stands, Marked] = {
    Stands.PROPOSED: gettext_noop("proposed"),
    Stands.ALLOWED: gettext_noop("allowed"),
    Stands.OTHER_WEEKS: gettext_noop("other weeks"),
    Stands.KEPT_OUT: gettext_noop("kept out"),
    Stands.DONE: gettext_noop("done"),
}
SHORT: dict[Family, Marked] = {
    Family.LABEL: gettext_noop("label"),
    Family.DISTANCE: gettext_noop("distance"),
    Family.HARVEST: gettext_noop("harvest"),
    Family.BLOOM: gettext_noop("bloom"),
    Family.CERTIFICATE: gettext_noop("certificate"),
    Family.ORGANIC_PLANTING: gettext_noop("not organic"),
    Family.INTERVAL: gettext_noop("too soon"),
    Family.TOTALS: gettext_noop("year’s limit"),
    Family.SEPARATION: gettext_noop("days apart"),
    Family.ORGANIC_WISH: gettext_noop("not organic"),
    Family.WARNINGS: gettext_noop("warning"),
    Family.GENERATIONS: gettext_noop("same mode"),
    Family.USES: gettext_noop("mode used up"),
    Family.STOCK: gettext_noop("store"),
    Family.EGGS: gettext_noop("eggs left"),
    Family.VISITS: gettext_noop("visits"),
    Family.PINS: gettext_noop("fixed"),
}
BEES = gettext_noop("bees")
OF_BEES = {"bee-hazard", "bee-hazard-by-day", "hives-near", "before-bloom", "open-flowers"}
FAMILY_BETWEEN_WEEKS = {
    "interval-too-short": Family.INTERVAL,
    "too-many-applications": Family.TOTALS,
    "total-above-label": Family.TOTALS,
    "kept-apart": Family.SEPARATION,
    "organic-wished": Family.ORGANIC_WISH,
    "group-repeated": Family.GENERATIONS,
    "group-next-generation": Family.GENERATIONS,
    "group-too-often": Family.USES,
    "stock-short": Family.STOCK,
    "lot-expires": Family.STOCK,
    "eggs-late": Family.EGGS,
}
GRAVITY = (Severity.REFUSAL, Severity.WARNING, Severity.NOTE)


@dataclass(frozen=True, slots=True)
class Standing:
    """How a product stands in a week, in a word or two, and the sentences behind it."""

    stands: Stands
    short: Marked
    findings: tuple[Finding, ...] = ()


def short_reason(findings: Iterable[Finding]) -> Marked:
    """Return the gravest of some findings in a word or two.

    >>> short_reason([Finding("in-bloom", Severity.REFUSAL, "In bloom.")])
    'bloom'
    """
    gravest = min(findings, key=lambda each: GRAVITY.index(each.severity))
    if gravest.code in OF_BEES:
        return BEES
    between = FAMILY_BETWEEN_WEEKS.get(gravest.code)
    if gravest.severity is Severity.REFUSAL:
        return SHORT[between or FAMILY_OF_REFUSAL.get(gravest.code, Family.LABEL)]
    return SHORT[between or Family.WARNINGS]


def standings(
    season: Season,
    plan: Plan | None,
    reasons: Reasons,
    why_not: Callable[[int, str], Sequence[Finding]],
) -> dict[tuple[int, str], Standing]:
    """Return, by week and code of the offer, how each product stands beside a plan.

    plan: None tells only what keeps a product out by itself
    why_not: what speaks against a product in a week of the plan
    """
    own = plan.codes() if plan else ("",) * len(season.days)
    is_open = set(season.open_weeks())

    def stand(week: int, code: str) -> Standing:
        if week not in is_open:
            return _plainly(Stands.DONE)
        if (week, code) in reasons:
            found = tuple(reasons[week, code])
            return Standing(Stands.KEPT_OUT, short_reason(found), found)
        if code == own[week - 1]:
            return _plainly(Stands.PROPOSED)
        found = tuple(why_not(week, code)) if plan else ()
        if all(each.severity is Severity.NOTE for each in found):
            return Standing(Stands.ALLOWED, WORDS[Stands.ALLOWED], found)
        if not season.wishes.without_warnings and all(map(_only_warns, found)):
            return Standing(Stands.ALLOWED, SHORT[Family.WARNINGS], found)
        return Standing(Stands.OTHER_WEEKS, short_reason(found), found)

    return {
        (week, offer.code): stand(week, offer.code)
        for offer in season.offers
        for week in range(1, len(season.days) + 1)
    }


def _only_warns(finding: Finding) -> bool:
    between = FAMILY_BETWEEN_WEEKS.get(finding.code)
    return finding.severity is not Severity.REFUSAL and between is None


def _plainly(stands: Stands) -> Standing:
    return Standing(stands, WORDS[stands])

"""Why not this product in that week: what bars it by itself, and what it would do to a plan."""

from collections.abc import Callable, Iterator, Mapping, Sequence

from treatments.rules.compatibility import check_separations
from treatments.rules.composing.candidates import Candidate
from treatments.rules.composing.families import BITS, Family, family_of
from treatments.rules.composing.models import Model
from treatments.rules.composing.plans import Plan, findings_of, lots_of, objective_of
from treatments.rules.composing.seasons import Season
from treatments.rules.facts import PastApplication, PlannedApplication
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.labels import check_actives, check_intervals, check_totals
from treatments.rules.resistance import check_resistance
from treatments.rules.stock import check_stock

WORSE = gettext_noop(
    "Nothing bars %(product)s in week %(week)s: with it this plan would count %(more)s more, as "
    "the wishes weigh cost and risk."
)
NO_WORSE = gettext_noop(
    "Nothing bars %(product)s in week %(week)s: with it this plan would be as good or better for "
    "this week alone, and another plan shows it."
)
DONE = gettext_noop("Week %(week)s is done.")

Reasons = Mapping[tuple[int, str], tuple[Finding, ...]]


def barred(model: Model) -> dict[tuple[int, str], tuple[Finding, ...]]:
    """Return, by week and code of the offer, the findings for which a product is kept out."""
    season = model.grid.season
    return {
        (each.week, each.offer.code): tuple(_why(season, each, int(bits)))
        for each, bits in zip(model.candidates, model.bars, strict=False)
        if bits
    }


def _why(season: Season, candidate: Candidate, bits: int) -> Iterator[Finding]:
    yield from (each for each in candidate.findings if _bars(each, candidate))
    by_rows = {
        repr(finding): finding
        for family, check in CHECKS.items()
        if bits & BITS[family]
        for treated in season.plantings
        for finding in check(season, candidate.application, season.history_of(treated))
    }
    yield from by_rows.values()


def _bars(finding: Finding, candidate: Candidate) -> bool:
    return finding.code == "organic-wished" or family_of(finding) in candidate.bars


def _intervals(
    _season: Season, application: PlannedApplication, history: Sequence[PastApplication]
) -> list[Finding]:
    return check_intervals([application], history)


def _totals(
    _season: Season, application: PlannedApplication, history: Sequence[PastApplication]
) -> list[Finding]:
    findings = check_totals([application], history) + check_actives([application], history)
    return [each for each in findings if each.severity is Severity.REFUSAL]


def _separations(
    _season: Season, application: PlannedApplication, history: Sequence[PastApplication]
) -> list[Finding]:
    return check_separations([application], history)


def _generations(
    season: Season, application: PlannedApplication, history: Sequence[PastApplication]
) -> list[Finding]:
    findings = check_resistance([application], history, generation_days=season.generation_days)
    return [each for each in findings if each.code != "group-too-often"]


def _uses(
    season: Season, application: PlannedApplication, history: Sequence[PastApplication]
) -> list[Finding]:
    limit = season.uses_a_season or 0
    findings = check_resistance([application], history, uses_a_season=limit)
    return [each for each in findings if each.code == "group-too-often"]


def _stock(
    season: Season, application: PlannedApplication, _history: Sequence[PastApplication]
) -> list[Finding]:
    findings = check_stock([application], lots_of(season))
    return [each for each in findings if each.severity is Severity.WARNING]


Check = Callable[[Season, PlannedApplication, Sequence[PastApplication]], list[Finding]]
CHECKS: dict[Family, Check] = {
    Family.INTERVAL: _intervals,
    Family.TOTALS: _totals,
    Family.SEPARATION: _separations,
    Family.GENERATIONS: _generations,
    Family.USES: _uses,
    Family.STOCK: _stock,
}


def why_not(
    season: Season,
    plan: Plan,
    week: int,
    code: str,
    *,
    candidates: Sequence[Candidate],
    reasons: Reasons,
) -> list[Finding]:
    """Return why a plan does not have a product in a week.

    candidates, reasons: as the answer holds them

    What bars it comes first; else what the checks would say with it in place, the other weeks as
    they are; else how much worse the plan would be.
    """
    if (week, code) in reasons:
        return list(reasons[week, code])
    swapped = _swapped(plan, week, code, candidates)
    if swapped is None:
        return [_said("week-done", DONE, {"week": week})]
    known = {repr(finding) for finding in plan.findings}
    found = findings_of(season, [each.application for each in swapped])
    grave = [each for each in found if each.severity is not Severity.NOTE]
    if new := [finding for finding in grave if repr(finding) not in known]:
        return new
    more = objective_of(season, swapped) - plan.objective
    product = next(each.offer.product.name for each in swapped if each.week == week)
    facts = {"product": product, "week": week, "more": more}
    return [_said("worse", WORSE if more > 0 else NO_WORSE, facts).in_week(week)]


def _swapped(
    plan: Plan, week: int, code: str, candidates: Sequence[Candidate]
) -> list[Candidate] | None:
    """Return the candidates of a plan with another one in a week; None for a done week."""
    by_place = {(each.week, each.offer.code): each for each in candidates}
    if (week, code) not in by_place:
        return None
    others = [
        by_place[each.week, each.offer.code]
        for each in plan.weeks
        if each.offer is not None and each.week != week
    ]
    return sorted([*others, by_place[week, code]], key=lambda each: each.week)


def _said(code: str, sentence: str, facts: dict[str, object]) -> Finding:
    return Finding(code, Severity.NOTE, sentence, "", facts, "common practice")

"""Composes a season: the best plans one after the other, or why there is none."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from treatments.rules.composing.candidates import Candidate
from treatments.rules.composing.conflicts import Conflict, conflict_of
from treatments.rules.composing.models import Model, model_of
from treatments.rules.composing.plans import Plan, plan_of
from treatments.rules.composing.reasons import barred, why_not
from treatments.rules.composing.seasons import Season
from treatments.rules.composing.solving import SECONDS, ProofMissing, Search
from treatments.rules.composing.standing import Standing, standings
from treatments.rules.findings import Finding, Severity, gettext_noop, refuses

MOST_LOOKED_AT = 20  # plans before it is given up to find one that the checks let pass

NO_FURTHER_PROOF = gettext_noop(
    "Further rotations were looked for, and none was proven the best of the rest in the time given."
)
FEWER_WEEKS = gettext_noop("Ask for fewer weeks or products to see more.")


@dataclass(frozen=True, slots=True)
class Answer:
    """What came of composing a season.

    plans: different ones, each proven the best but for those before it; none where `conflict` is
    conflict: why there is no plan
    unproven: said where a further plan was not proven in the time given
    barred: by week and code of the offer, why a product is kept out of the week by itself
    """

    season: Season
    plans: tuple[Plan, ...]
    conflict: Conflict | None
    unproven: Finding | None
    barred: Mapping[tuple[int, str], tuple[Finding, ...]]
    candidates: tuple[Candidate, ...]

    def why_not(self, plan: Plan, week: int, code: str) -> list[Finding]:
        """Return why one of the plans does not have the offer `code` in a week."""
        return why_not(
            self.season, plan, week, code, candidates=self.candidates, reasons=self.barred
        )

    def standings(self, plan: Plan | None = None) -> dict[tuple[int, str], Standing]:
        """Return, by week and code, how every product stands beside a plan, or by itself."""
        return standings(
            self.season,
            plan,
            self.barred,
            lambda week, code: self.why_not(plan, week, code) if plan else [],
        )


def compose(
    season: Season,
    *,
    plans: int = 3,
    of_other_products: bool = True,
    seconds: float = SECONDS,
) -> Answer:
    """Return the best plans of a season, proven optimal, or why there is none.

    plans: how many different ones are looked for; there may be fewer
    of_other_products: each uses an offer that the first does without, one that the second does
        without, and so on; otherwise the same products in another order are another plan
    seconds: in which each must be proven

    Raise ProofMissing where the best is not; where a further one is not, those proven are told.
    """
    model = model_of(season)
    found, unproven = list[Plan](), None
    try:
        for plan in _plans(model, plans, of_other_products, seconds):
            found.append(plan)
    except ProofMissing:
        if not found:
            raise
        unproven = Finding(
            "proof-missing", Severity.NOTE, NO_FURTHER_PROOF, FEWER_WEEKS, {}, "common practice"
        )
    return Answer(
        season=season,
        plans=tuple(found),
        conflict=None if found else conflict_of(season),
        unproven=unproven,
        barred=barred(model),
        candidates=tuple(model.candidates),
    )


def _plans(model: Model, number: int, of_other_products: bool, seconds: float) -> Iterator[Plan]:
    """Yield the first plans in order that no check refuses.

    The model knows every refusal, but counts in binary fractions: a plan that is over a limit by
    less than they can tell is passed over.
    """
    search, found = Search(model, seconds), 0
    for _look in range(MOST_LOOKED_AT):
        if found == number or (columns := search.best()) is None:
            break
        plan = _plan(model, columns)
        if refuses(list(plan.findings)):
            search.forbid(columns)
            continue
        yield plan
        found += 1
        differ = search.ask_another_offer if of_other_products else search.forbid
        differ(columns)


def _plan(model: Model, columns: Sequence[int]) -> Plan:
    return plan_of(model.grid.season, [model.candidates[column] for column in columns])

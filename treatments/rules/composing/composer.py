"""Composes a season: the best plans one after the other, or why there is none."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from treatments.rules.composing.candidates import Candidate
from treatments.rules.composing.conflicts import Conflict, conflict_of
from treatments.rules.composing.models import Model, model_of
from treatments.rules.composing.plans import Plan, plan_of
from treatments.rules.composing.reasons import barred, why_not
from treatments.rules.composing.seasons import Season
from treatments.rules.composing.solving import SECONDS, Search
from treatments.rules.findings import Finding, refuses

MOST_LOOKED_AT = 20  # plans before it is given up to find one that the checks let pass


@dataclass(frozen=True, slots=True)
class Answer:
    """What came of composing a season.

    plans: different ones, each proven the best but for those before it; none where `conflict` is
    conflict: why there is no plan
    barred: by week and code of the offer, why a product is kept out of the week by itself
    """

    season: Season
    plans: tuple[Plan, ...]
    conflict: Conflict | None
    barred: Mapping[tuple[int, str], tuple[Finding, ...]]
    candidates: tuple[Candidate, ...]

    def why_not(self, plan: Plan, week: int, code: str) -> list[Finding]:
        """Return why one of the plans does not have the offer `code` in a week."""
        return why_not(
            self.season, plan, week, code, candidates=self.candidates, reasons=self.barred
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

    Raise ProofMissing where one is not.
    """
    model = model_of(season)
    found = _plans(model, plans, of_other_products, seconds)
    return Answer(
        season=season,
        plans=tuple(found),
        conflict=None if found else conflict_of(season),
        barred=barred(model),
        candidates=tuple(model.candidates),
    )


def _plans(model: Model, number: int, of_other_products: bool, seconds: float) -> list[Plan]:
    """Return the first plans in order that no check refuses.

    The model knows every refusal, but counts in binary fractions: a plan that is over a limit by
    less than they can tell is passed over.
    """
    search, found = Search(model, seconds), list[Plan]()
    for _look in range(MOST_LOOKED_AT):
        if len(found) == number or (columns := search.best()) is None:
            break
        plan = _plan(model, columns)
        if refuses(list(plan.findings)):
            search.forbid(columns)
            continue
        found.append(plan)
        differ = search.ask_another_offer if of_other_products else search.forbid
        differ(columns)
    return found


def _plan(model: Model, columns: Sequence[int]) -> Plan:
    return plan_of(model.grid.season, [model.candidates[column] for column in columns])

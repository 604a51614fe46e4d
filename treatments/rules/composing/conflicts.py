"""Why no plan keeps every rule: the rules in each other's way, and what giving one up would do.

Dropping one family after another and keeping out those without which there is still no plan leaves
a set of which each is needed: the deletion filter [CHINNECK-1991].  Wishes are dropped first:
where labels and law alone allow no plan, no wish is named.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise

from treatments.rules.composing.families import BINDING, BITS, EVERY_FAMILY, NAMES, Family
from treatments.rules.composing.models import Model, model_of
from treatments.rules.composing.seasons import Season
from treatments.rules.composing.solving import is_possible
from treatments.rules.composing.visit_rows import reaches_eggs
from treatments.rules.findings import Finding, Marked, Severity, gettext_noop

NO_PLAN = gettext_noop("No plan for %(weeks)s weeks from %(first)s to %(last)s keeps every rule.")
KEEPS_OUT = gettext_noop("In the way of each other: %(rule)s.")
ALONE = gettext_noop("This alone cannot be kept: %(rule)s.")
NO_EGG_PRODUCT = gettext_noop("None of the products on offer acts on eggs.")
OFFER_ONE = gettext_noop("Put a product on offer that does.")
NO_DAY_FOR_EGGS = gettext_noop(
    "Eggs hatch within %(days)s days, and no visit is planned between %(since)s and %(until)s."
)
ADD_A_DAY = gettext_noop("Put a visit between the two days.")
BINDS = gettext_noop("This comes from a label, the law or what was agreed, and stays.")
WEEK_EMPTY = gettext_noop("No product is left for week %(week)s, on %(day)s.")
SEE_REASONS = gettext_noop("See beside each product what keeps it out; move the day or add one.")
GIVE_UP = gettext_noop("There is a plan without this: %(wish)s.")
GIVE_UP_BOTH = gettext_noop("There is a plan without both: %(wish)s; %(other)s.")
NOTHING_FREES = gettext_noop("Giving up one wish, or two, frees no plan.")
ADD_PRODUCTS = gettext_noop("Put more products on offer, or move days.")


@dataclass(frozen=True, slots=True)
class Conflict:
    """Why there is no plan.

    families: in each other's way; without any one of them the others could be kept
    remedies: what may be given up, one or two at a time; never labels, law or agreements
    empty_weeks: the weeks in which no product is left
    findings: all of it in sentences
    """

    families: tuple[Family, ...]
    remedies: tuple[tuple[Family, ...], ...]
    empty_weeks: tuple[int, ...]
    findings: tuple[Finding, ...]


def conflict_of(season: Season) -> Conflict:
    """Return why a season has no plan.

    Raise ValueError where there is one.
    """
    model = model_of(season, visits_may_lapse=True)
    families = smallest_conflict(_at_work(model), lambda active: is_possible(model, active))
    remedies = tuple(_remedies(model, _at_work(model)))
    empty = tuple(_empty_weeks(model))
    findings = tuple(_findings(season, families, remedies, empty))
    return Conflict(families, remedies, empty, findings)


def _at_work(model: Model) -> list[Family]:
    """Return the families that bar something or have a row, wishes first."""
    present = set()
    for bits in {*map(int, model.bars), *map(int, model.families)}:
        present |= {family for family in Family if BITS[family] & bits}
    return sorted(present, key=lambda family: (family in BINDING, list(Family).index(family)))


def smallest_conflict(
    families: Sequence[Family], is_possible_with: Callable[[int], bool]
) -> tuple[Family, ...]:
    """Return families that cannot be kept together, though all but any one of them can.

    is_possible_with: says whether the families of some bits can be kept together

    Raise ValueError where all of them can be kept.

    >>> both = BITS[Family.EGGS] | BITS[Family.STOCK]
    >>> smallest_conflict(list(Family), lambda active: active & both != both)
    (<Family.STOCK: 'stock'>, <Family.EGGS: 'eggs'>)
    """
    active = sum(BITS[family] for family in families)
    if is_possible_with(active):
        raise ValueError("There is a plan that keeps every rule.")
    for family in families:
        if not is_possible_with(active & ~BITS[family]):
            active &= ~BITS[family]
    return tuple(family for family in families if BITS[family] & active)


def _remedies(model: Model, families: Sequence[Family]) -> Iterator[tuple[Family, ...]]:
    wishes = [family for family in families if family not in BINDING]
    everything_given_up = EVERY_FAMILY & ~sum(BITS[family] for family in wishes)
    if not is_possible(model, everything_given_up):
        return
    for number in (1, 2):
        freeing = [each for each in combinations(wishes, number) if _frees(model, each)]
        yield from freeing
        if freeing:
            return


def _frees(model: Model, given_up: Sequence[Family]) -> bool:
    return is_possible(model, EVERY_FAMILY & ~sum(BITS[family] for family in given_up))


def _empty_weeks(model: Model) -> Iterator[int]:
    grid = model.grid
    for place, week in enumerate(grid.weeks):
        columns = grid.week_columns(place)
        if not grid.season.may_be_left_out(week) and all(model.bars[each] for each in columns):
            yield week


def _findings(
    season: Season,
    families: Sequence[Family],
    remedies: Sequence[tuple[Family, ...]],
    empty_weeks: Sequence[int],
) -> Iterator[Finding]:
    span = {"weeks": len(season.days), "first": season.days[0], "last": season.days[-1]}
    yield _said("no-plan", Severity.REFUSAL, NO_PLAN, span)
    for week in empty_weeks:
        facts = {"week": week, "day": season.days[week - 1]}
        yield _said("week-empty", Severity.REFUSAL, WEEK_EMPTY, facts, SEE_REASONS).in_week(week)
    for family in families:
        remedy = BINDS if family in BINDING else Marked("")
        severity = Severity.REFUSAL if family in BINDING else Severity.WARNING
        sentence = KEEPS_OUT if len(families) > 1 else ALONE
        yield _said("in-conflict", severity, sentence, {"rule": NAMES[family]}, remedy)
    if Family.EGGS in families:
        yield from _of_eggs(season)
    for remedy_families in remedies:
        names = dict(zip(("wish", "other"), map(NAMES.get, remedy_families), strict=False))
        sentence = GIVE_UP if len(remedy_families) == 1 else GIVE_UP_BOTH
        yield _said("give-up", Severity.NOTE, sentence, names)
    if not remedies:
        yield _said("nothing-frees", Severity.NOTE, NOTHING_FREES, {}, ADD_PRODUCTS)


def _of_eggs(season: Season) -> Iterator[Finding]:
    if not any(reaches_eggs(offer.product) for offer in season.offers):
        yield _said("no-egg-product", Severity.WARNING, NO_EGG_PRODUCT, {}, OFFER_ONE)
    days = season.egg_reach_days or 0
    for since, until in pairwise(season.days):
        if (until - since).days > days:
            facts = {"days": days, "since": since, "until": until}
            yield _said("no-day-for-eggs", Severity.WARNING, NO_DAY_FOR_EGGS, facts, ADD_A_DAY)


def _said(
    code: str,
    severity: Severity,
    sentence: Marked,
    facts: Mapping[str, object],
    remedy: str = "",
) -> Finding:
    return Finding(code, severity, sentence, remedy, facts, "common practice")

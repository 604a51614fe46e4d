"""Proposed rotations: what each costs and risks, or why there is none, in words."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from treatments.models import Product
from treatments.proposing import LeftOut, Proposed
from treatments.rules.composing import NAMES, Family, Plan
from treatments.rules.findings import Finding, Severity
from treatments.rules.rotation_checks import by_week
from treatments.views.asking import Address
from treatments.views.facts import Fact, plain
from treatments.views.proposed_weeks import ProposedWeek, dollars, proposed_week
from treatments.views.rates import Rate, rates_of
from treatments.views.why_tables import WhyTable, why_table

GENTLE, HARSH = Decimal("1.5"), Decimal(4)  # points a visit; our own, as the scale is


@dataclass(frozen=True, slots=True)
class Proposal:
    """A rotation that is proposed."""

    number: int
    title: str
    sentence: str
    facts: list[Fact]
    weeks: list[ProposedWeek]
    findings: list[Finding]
    codes: str
    is_open: bool
    ask_table: str
    table: WhyTable | None


@dataclass(frozen=True, slots=True)
class Remedy:
    """What may be given up, in words, and the address after that."""

    words: list[str]
    url: str


@dataclass(frozen=True, slots=True)
class Opened:
    """What the reader opened: a plan, and of it a week or the table of all weeks.

    shows_prices: whether the reader is shown what things cost
    """

    plan: int = 0
    week: int = 0
    is_whole: bool = False
    shows_prices: bool = True


@dataclass(frozen=True, slots=True)
class Shown:
    """All that the page says of an answer."""

    proposals: list[Proposal]
    conflict: list[Finding]
    remedies: list[Remedy]
    given_up: list[Remedy]
    margin: list[Finding]
    left_out: list[tuple[Product, list[Finding]]]
    barred: WhyTable | None
    rates: list[Rate]

    @property
    def rates_wrong(self) -> bool:
        """Whether a rate that was typed lies outside its label."""
        return any(each.is_wrong for each in self.rates)


def shown_of(proposed: Proposed, address: Address, opened: Opened) -> Shown:
    """Return an answer as the page shows it."""
    plans = proposed.answer.plans
    conflict = proposed.answer.conflict
    return Shown(
        proposals=[
            _proposal(proposed, plan, number, address, opened)
            for number, plan in enumerate(plans, 1)
        ],
        conflict=[each for each in conflict.findings if each.code != "give-up"] if conflict else [],
        remedies=[_remedy(each, address) for each in conflict.remedies] if conflict else [],
        given_up=[
            Remedy([_(NAMES[family])], address.wishing(family))
            for family in sorted(proposed.asked.wishes.given_up)
        ],
        margin=proposed.notes(),
        left_out=left_out_of(proposed.left_out),
        barred=why_table(proposed, None, address) if conflict else None,
        rates=list(rates_of(proposed)),
    )


def left_out_of(left_out: Sequence[LeftOut]) -> list[tuple[Product, list[Finding]]]:
    """Return the products that are not on offer, each with the reason."""
    return [(each.product, [each.finding]) for each in left_out]


def _remedy(families: tuple[Family, ...], address: Address) -> Remedy:
    return Remedy([_(NAMES[family]) for family in families], address.giving_up(families))


def _proposal(
    proposed: Proposed, plan: Plan, number: int, address: Address, opened: Opened
) -> Proposal:
    noted = by_week(plan.findings)
    is_asked = opened.is_whole and opened.plan == number
    return Proposal(
        number=number,
        title=[_("The best"), _("The second"), _("The third")][number - 1],
        sentence=_sentence(plan, opened.shows_prices),
        facts=list(_facts(plan, opened.shows_prices)),
        weeks=[
            proposed_week(
                proposed,
                plan,
                week,
                noted.get(week.week, []),
                address,
                key=f"{number}-{week.week}",
                shows_prices=opened.shows_prices,
                is_asked=(opened.plan, opened.week) == (number, week.week),
            )
            for week in plan.weeks
        ],
        findings=noted.get(None, []),
        codes=",".join(plan.codes()),
        is_open=number == (opened.plan or 1),
        ask_table=address.asking_table(number),
        table=why_table(proposed, plan, address) if is_asked else None,
    )


def _sentence(plan: Plan, shows_prices: bool) -> str:
    warnings = sum(each.severity is Severity.WARNING for each in plan.findings)
    parts = [
        *([dollars(plan.cost)] if shows_prices else []),
        ngettext("%(count)s visit", "%(count)s visits", plan.visits) % {"count": plan.visits},
        risk_words(plan),
        ngettext("%(count)s warning", "%(count)s warnings", warnings) % {"count": warnings}
        if warnings
        else _("no warning"),
    ]
    return "; ".join(parts)


def _cost(plan: Plan) -> Fact:
    unknown = ", ".join(plan.cost_unknown)
    without = _("without %(products)s, of which price or amount is not known")
    source = without % {"products": unknown} if unknown else ""
    return Fact(_("Cost of products"), dollars(plan.cost), source=source)


def _facts(plan: Plan, shows_prices: bool) -> Iterator[Fact]:
    if shows_prices:
        yield _cost(plan)
    yield Fact(_("Visits"), plan.visits)
    yield Fact(_("Modes of action"), groups_words(plan))
    yield Fact(
        _("Risk to beneficials"),
        risk_words(plan),
        source=_("%(points)s points on a scale of our own") % {"points": plain(plan.risk) or 0},
    )
    for name, amount in plan.to_buy.items():
        yield Fact(_("To buy"), f"{name}, {plain(amount.quantize(Decimal('0.001')))}")


def risk_words(plan: Plan) -> str:
    """Return how a plan deals with beneficials, by the points of a visit on the average."""
    mean = plan.risk / max(1, len(plan.applications()))
    if mean <= GENTLE:
        return _("gentle to beneficials")
    return _("moderate for beneficials") if mean <= HARSH else _("hard on beneficials")


def groups_words(plan: Plan) -> str:
    """Return the modes of action that count, each with its uses."""
    if not plan.groups:
        return _("none that breeds resistance")
    return ", ".join(
        ngettext("%(group)s (once)", "%(group)s (%(count)s times)", uses)
        % {"group": group, "count": uses}
        for group, uses in sorted(plan.groups.items())
    )

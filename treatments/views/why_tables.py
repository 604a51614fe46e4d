"""One table of every product and week: how each stands, and behind each word its sentences."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from treatments.models import Product
from treatments.proposing import Proposed
from treatments.rules.composing import Plan, Standing, Stands
from treatments.rules.findings import Finding
from treatments.views.asking import Address

# A sign beside each word, so that a row can be read along without reading every word.
SIGNS = {
    Stands.PROPOSED: "●",
    Stands.ALLOWED: "○",
    Stands.OTHER_WEEKS: "–",
    Stands.KEPT_OUT: "✕",
    Stands.DONE: "",
}


@dataclass(frozen=True, slots=True)
class Cell:
    """A product in a week."""

    week: int
    stands: str
    sign: str
    short: str
    findings: Sequence[Finding]
    take: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """A product over the weeks."""

    product: Product
    cells: list[Cell]


@dataclass(frozen=True, slots=True)
class WhyTable:
    """Products as rows, weeks as columns."""

    weeks: list[tuple[int, date]]
    rows: list[Row]


def why_table(proposed: Proposed, plan: Plan | None, address: Address) -> WhyTable:
    """Return how every product stands in every week of a plan, or by itself without one."""
    answer = proposed.answer
    standings = answer.standings(plan)
    weeks = list(enumerate(answer.season.days, 1))
    return WhyTable(
        weeks=weeks,
        rows=[
            Row(
                proposed.products[offer.code],
                [
                    _cell(standings[week, offer.code], week, offer.code, plan, address)
                    for week, _day in weeks
                ],
            )
            for offer in answer.season.offers
        ],
    )


def _cell(standing: Standing, week: int, code: str, plan: Plan | None, address: Address) -> Cell:
    may_take = plan is not None and standing.stands in (Stands.ALLOWED, Stands.OTHER_WEEKS)
    return Cell(
        week=week,
        stands=standing.stands.name.lower(),
        sign=SIGNS[standing.stands],
        short=_(standing.short),
        findings=standing.findings,
        take=address.fixing(week, code) if may_take else "",
    )

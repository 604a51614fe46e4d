"""What visits cost and earn, a row a visit, a course or a client, in the order asked for."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from django.urls import reverse
from django.utils.translation import gettext as _

from services.figures import VisitFigures
from services.forms.earnings import By
from services.priced import priced_in_words
from services.rules.charging.totals import Total, total_of
from treatments.rules.findings import filled


@dataclass(frozen=True, slots=True)
class EarningRow:
    """The figures of one visit, or of those of a course or client together."""

    name: str
    beside: str
    url: str
    day: date
    visits: int
    labour_minutes: Total
    travel_minutes: Total
    travel_miles: Total
    product: Total
    cost: Total
    charge: Total
    margin: Total
    priced: str
    unknown: list[str]


FIGURES: dict[str, Callable[[EarningRow], Total]] = {
    "labour": lambda row: row.labour_minutes,
    "travel": lambda row: row.travel_minutes,
    "miles": lambda row: row.travel_miles,
    "product": lambda row: row.product,
    "cost": lambda row: row.cost,
    "charge": lambda row: row.charge,
    "margin": lambda row: row.margin,
}


def earning_rows(figures: Sequence[VisitFigures], by: str) -> list[EarningRow]:
    """Return a row for each visit, course or client."""
    if by == By.VISIT:
        return [_row([each], *_named_visit(each)) for each in figures]
    groups: dict[int, list[VisitFigures]] = {}
    for each in figures:
        place = each.visit.course.property
        key = each.visit.course_id if by == By.COURSE else place.client_id
        groups.setdefault(key, []).append(each)
    named = _named_course if by == By.COURSE else _named_client
    return [_row(group, *named(group[0])) for group in groups.values()]


def earnings_of_all(figures: Sequence[VisitFigures]) -> EarningRow:
    """Return one row of all visits."""
    return _row(figures, _("All together"), "", "")


def in_order(rows: Iterable[EarningRow], sort: str) -> list[EarningRow]:
    """Return rows by a column, turned round by a `-`; what is not known stands last."""
    name, turned = sort.removeprefix("-"), sort.startswith("-")
    rows = sorted(rows, key=lambda row: (row.name.casefold(), row.day))
    if name in FIGURES:
        known = [row for row in rows if FIGURES[name](row).amount is not None]
        rest = [row for row in rows if FIGURES[name](row).amount is None]
        return [*sorted(known, key=_figure(name), reverse=turned), *rest]
    if name == "day":
        return sorted(rows, key=lambda row: row.day, reverse=turned)
    if name == "visits":
        return sorted(rows, key=lambda row: row.visits, reverse=turned)
    return list(reversed(rows)) if turned else rows


def _figure(name: str) -> Callable[[EarningRow], Fraction]:
    return lambda row: Fraction(FIGURES[name](row).amount or 0)


def _named_visit(each: VisitFigures) -> tuple[str, str, str]:
    visit = each.visit
    url = reverse("services:course", args=[visit.course_id]) + f"#visit-{visit.pk}"
    week = _("week %(week)s of %(rotation)s") % {
        "week": visit.week,
        "rotation": visit.course.rotation.name,
    }
    return visit.course.property.name, week, url


def _named_course(each: VisitFigures) -> tuple[str, str, str]:
    course = each.visit.course
    return (
        course.rotation.name,
        course.property.name,
        reverse("services:course", args=[course.pk]),
    )


def _named_client(each: VisitFigures) -> tuple[str, str, str]:
    client = each.visit.course.property.client
    return client.name, "", reverse("services:account", args=[client.pk])


def _row(figures: Sequence[VisitFigures], name: str, beside: str, url: str) -> EarningRow:
    costs = [each.cost for each in figures]
    return EarningRow(
        name=name,
        beside=beside,
        url=url,
        day=max((each.day for each in figures), default=date.min),
        visits=len(figures),
        labour_minutes=total_of(each.labour_minutes for each in costs),
        travel_minutes=total_of(each.travel_minutes for each in costs),
        travel_miles=total_of(each.travel_miles for each in costs),
        product=total_of(each.product_known() for each in costs),
        cost=total_of(each.total() for each in costs),
        charge=total_of(each.charge.amount for each in figures),
        margin=total_of(each.margin() for each in figures),
        priced=priced_in_words(figures[0]) if len(figures) == 1 else "",
        unknown=reasons_unknown(figures),
    )


def reasons_unknown(figures: Iterable[VisitFigures]) -> list[str]:
    """Return why figures are not known, each reason once."""
    said: dict[str, None] = {}
    for each in figures:
        for sentence, facts in each.cost.unknown:
            said[filled(sentence, facts, _)] = None
        if each.charge.why_not:
            said[_(each.charge.why_not)] = None
    return list(said)

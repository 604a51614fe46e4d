"""Gathers what the counts on a planting say of the course that is put on it."""

from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date

from services.courses import local_day
from services.models import Visit
from treatments.forecasting import Outlook
from treatments.gathering import product_facts
from treatments.judging import Judged
from treatments.models import Pest, Product, ScoutingCount
from treatments.rules.follow_up import Counted, CourseSoFar, PoorVisit, WeekToCome
from treatments.rules.resistance import modes_of_action


def course_so_far(
    pest: Pest,
    counts: Sequence[ScoutingCount],
    visits: Iterable[Visit],
    judgements: Sequence[Judged],
    outlook: Outlook,
    today: date,
) -> CourseSoFar:
    """Return what is known of a course on a planting.

    counts: of the pest on the planting, in order; visits: of the course, in order of the weeks
    judgements: of all visits to the planting, in order; outlook: with the visits that are planned
    """
    visits = list(visits)
    made = sorted(local_day(visit) for visit in visits if _was_sprayed(visit))
    since = made[0] if made else today
    of_course = [each for each in judgements if each.day >= since]
    told = _since_first_visit(counts, since)
    threshold = None if pest.threshold is None else float(pest.threshold)
    is_low = bool(told) and threshold is not None and told[-1].number < threshold
    return CourseSoFar(
        counts=told,
        visits=made,
        to_come=[
            WeekToCome(visit.week, _groups(visit.rotation_week.product))
            for visit in visits
            if visit.is_open() and visit.rotation_week.product
        ],
        threshold=threshold,
        poor=[
            PoorVisit(each.day, each.group, frozenset().union(*map(_groups, each.products)))
            for each in of_course
            if each.is_poor
        ],
        told=of_course[-1].day if of_course else None,
        highest_without=_highest_without(outlook, today) if is_low else None,
        end_with=outlook.forecast.days[-1].motiles.expected if outlook.forecast else None,
    )


def _was_sprayed(visit: Visit) -> bool:
    is_spray = visit.rotation_week.product_id is not None
    return is_spray and visit.state == Visit.State.COMPLETED


def _since_first_visit(counts: Sequence[ScoutingCount], since: date) -> list[Counted]:
    told = [Counted(_day(count), count.motiles_per_leaf()) for count in counts]
    before = [each for each in told if each.day <= since]
    return [*before[-1:], *(each for each in told if each.day > since)]


def _day(count: ScoutingCount) -> date:
    return count.scouted_at.astimezone(count.planting.property.zone()).date()


def _groups(product: Product | None) -> frozenset[str]:
    return frozenset(modes_of_action(product_facts(product))) if product else frozenset()


def _highest_without(outlook: Outlook, today: date) -> float | None:
    """Return the upper end of the forecast where no further visit is made, None without one."""
    if outlook.ground is None:
        return None
    made = tuple(each for each in outlook.ground.treatments if each.day < today)
    alone = replace(outlook.ground, treatments=made).forecast()
    return max(each.motiles.high for each in alone.days)

"""Keeps a proposed rotation as it was shown, after it was composed and checked once more."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from itertools import pairwise
from typing import Any

from django.core.exceptions import ValidationError
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _

from treatments.composing import keep_rotation
from treatments.models import Rotation, RotationWeek
from treatments.models.products import STAGES
from treatments.proposing.asking import SKIPPED, WEEK, Asked
from treatments.proposing.seasons import NothingOnOffer, propose
from treatments.rules.composing import Offer, Plan, ProofMissing
from treatments.rules.facts import PlannedApplication

USUAL_DAYS = WEEK  # before the first visit, where nothing is counted from
SLACK_DAYS = 2  # a visit may come so many days earlier or later, as in any rotation


def keep_proposal(
    asked: Asked,
    *,
    codes: Sequence[str],
    name: str,
    by: Any,
    reasons: Mapping[str, str] | None = None,
    note: str = "",
) -> tuple[Rotation, date]:
    """Keep the rotation with these products week by week; return it with its first day.

    codes: as the plan told them, empty where nobody goes
    reasons: why a warning is accepted, by `finding_key` of the rotation's own weeks

    Raise what `keep_rotation` raises, or ValidationError with code "changed" where the book no
    longer lets this plan pass.
    """
    plan = _same_again(asked, codes)
    weeks = weeks_of(plan)
    first_day = plan.applications()[0].day
    kept = keep_rotation(
        name=name,
        pest=asked.pest,
        plant_group=asked.plant_group(),
        weeks=weeks,
        by=by,
        first_day=first_day,
        reasons=reasons,
        plantings=asked.plantings,
        note=note,
        today=asked.today,
    )
    return kept, first_day


def _same_again(asked: Asked, codes: Sequence[str]) -> Plan:
    pins = {week: code or SKIPPED for week, code in enumerate(codes, 1)}
    plan = _first_plan(replace(asked, pins=pins))
    if plan is None or len(codes) != asked.weeks or not plan.applications():
        raise ValidationError(
            _("Store, labels or records have changed since. Have rotations proposed once more."),
            code="changed",
        )
    return plan


def _first_plan(asked: Asked) -> Plan | None:
    try:
        proposed = propose(asked, plans=1)
    except (NothingOnOffer, ProofMissing):
        return None
    return None if proposed.gone else next(iter(proposed.answer.plans), None)


def weeks_of(plan: Plan) -> list[RotationWeek]:
    """Return the weeks of a rotation that a plan's visits make, not kept yet.

    Weeks without a visit fall away: the next visit comes so many days later.
    """
    visits = [
        (week.offer, week.application) for week in plan.weeks if week.offer and week.application
    ]
    gaps = [USUAL_DAYS, *(later - earlier for earlier, later in pairwise(_days(plan)))]
    return [
        _week(number, *visit, gap.days)
        for number, (visit, gap) in enumerate(zip(visits, gaps, strict=True), 1)
    ]


def _days(plan: Plan) -> list[date]:
    return [application.day for application in plan.applications()]


def _week(number: int, offer: Offer, application: PlannedApplication, days: int) -> RotationWeek:
    return RotationWeek(
        week=number,
        product_id=int(offer.code),
        rate=offer.rate,
        basis=offer.basis,
        purpose=purpose_of(application),
        at_dusk=application.at_dusk,
        minimum_days=max(1, days - SLACK_DAYS),
        planned_days=days,
        maximum_days=days + SLACK_DAYS,
    )


def purpose_of(application: PlannedApplication) -> str:
    """Return which stages a visit reaches, in the reader's words."""
    reached = {
        stage
        for ingredient in application.product.ingredients
        for stage in ingredient.stages_controlled
    }
    words = [str(word) for code, word in STAGES if code in reached]
    return gettext("Reaches: %(stages)s.") % {"stages": ", ".join(words)} if words else ""

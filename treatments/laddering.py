"""Least first: the mildest step that will do against the pests of a planting, and why."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from clients.models import Planting
from treatments.forecasting import Outlook
from treatments.gathering import past_application, product_facts
from treatments.judging import Judged
from treatments.models import ApplicationRecord, Pest, RotationWeek, ScoutingCount
from treatments.rules.beneficials import ReleaseWindow, beneficials_against, release_window
from treatments.rules.facts import PastApplication
from treatments.rules.findings import Finding
from treatments.rules.ladder import Ladder, Situation, Step, findings_beside, propose
from treatments.sampling_plans import threshold_for

SEASON = timedelta(days=180)  # what did too little longer ago was another season; our choice
YEAR = timedelta(days=365)
# What is done on a rung without a spray, as a week of a rotation names it.
WITHOUT_SPRAY = {
    Step.WATCH: RotationWeek.Step.WATCH,
    Step.WATER_AND_WASH: RotationWeek.Step.WASH,
    Step.CLEAN_UP: RotationWeek.Step.CLEAN,
    Step.BENEFICIALS: RotationWeek.Step.RELEASE,
}


@dataclass(frozen=True, slots=True)
class Steps:
    """The ladder for a pest on a planting, what stands beside it, and when predators may go out."""

    pest: Pest
    situation: Situation
    ladder: Ladder
    beside: tuple[Finding, ...]
    releases: tuple[ReleaseWindow, ...]


def steps_for(
    *,
    pest: Pest,
    planting: Planting,
    last: ScoutingCount,
    records: Sequence[ApplicationRecord],
    judgements: Iterable[Judged],
    untreated: Outlook | None,
    today: date,
    elsewhere: Sequence[PastApplication] = (),
) -> Steps:
    """Return the mildest step that will do after the last count.

    records: current ones of the planting, products loaded with labels
    untreated: the outlook without further visits, for how soon the threshold is reached
    elsewhere: what was taken over of the year before, its residues stay as long
    """
    releases = release_windows(pest, last, records, today, elsewhere)
    level, _source = threshold_for(pest, planting)
    lately = [each for each in judgements if each.is_poor and each.day >= today - SEASON]
    situation = Situation(
        pest=pest.named(),
        count=round(last.motiles_per_leaf(), 2),
        threshold=level,
        is_mite=pest.is_mite,
        predators=round(last.predators / last.leaves_looked_at, 2),
        days_to_threshold=_days_to(level, untreated, today),
        drought_stressed=planting.drought_stressed,
        in_bloom=planting.blooms_on(today),
        contact_failed=sum(each.is_contact for each in lately),
        selective_failed=sum(not (each.is_contact or each.is_broad) for each in lately),
        releasable=any(each.suits and each.opens <= today for each in releases),
    )
    beside = tuple(findings_beside(situation))
    return Steps(pest, situation, propose(situation), beside, releases)


def release_windows(
    pest: Pest,
    last: ScoutingCount,
    records: Iterable[ApplicationRecord],
    today: date,
    elsewhere: Iterable[PastApplication] = (),
) -> tuple[ReleaseWindow, ...]:
    """Return when each predator known against a pest may be released, by residues and count."""
    kept = [past_application(record, product_facts(record.product)) for record in records]
    lately = [past for past in (*kept, *elsewhere) if past.day >= today - YEAR]
    per_leaf = last.motiles_per_leaf()
    return tuple(
        release_window(each, pest.named(), per_leaf, lately, today)
        for each in beneficials_against(pest.common_name)
    )


def _days_to(level: float | None, untreated: Outlook | None, today: date) -> int | None:
    if level is None or untreated is None or untreated.forecast is None:
        return None
    reached = untreated.forecast.first_day_over(level)
    return None if reached is None else max(0, (reached - today).days)

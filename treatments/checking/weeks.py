"""The checks of a rotation: every rule over every planting, each finding said once."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import NamedTuple

from clients.models import Planting
from treatments.checking.books import Book, open_book
from treatments.checking.planned import days_of_weeks, is_spray, planned_week
from treatments.gathering import planting_facts, treated_area_of
from treatments.models import Pest, Rotation, RotationWeek
from treatments.rules.beneficials import (
    check_after_release,
    check_release,
    predators_against,
)
from treatments.rules.certificates import check_lapsing
from treatments.rules.facts import Applied, CertificateFacts, PlannedApplication, PlantingFacts
from treatments.rules.findings import Finding, Marked
from treatments.rules.labels import check_rate, check_site
from treatments.rules.rotation_checks import check_rotation, in_order
from treatments.rules.stock import check_stock

SAMPLE_SQ_FT = Decimal(1000)  # the ground that is asked about when no planting is named

Spray = tuple[RotationWeek, date]


class Release(NamedTuple):
    """A week in which natural enemies are released, on its planned day."""

    week: int
    day: date
    predators: Marked


def check_course(
    rotation: Rotation, plantings: Sequence[Planting], first_day: date, today: date
) -> list[Finding]:
    """Return what there is to say of a rotation put on plantings from a first day."""
    return check_weeks(
        list(rotation.weeks.all()),
        pest=rotation.pest,
        first_day=first_day,
        plantings=plantings,
        today=today,
        plant_group=rotation.plant_group,
    )


def check_weeks(
    weeks: Sequence[RotationWeek],
    *,
    pest: Pest,
    first_day: date,
    today: date,
    plantings: Sequence[Planting] = (),
    plant_group: str = "",
) -> list[Finding]:
    """Return what there is to say of the weeks of a rotation, which need not be kept yet.

    first_day: of week 1; every other week follows its planned days after the one before
    today: the day from which lapsing certificates are counted
    plantings: what is to be treated; without any only the labels are asked, about `plant_group`

    Where there are several plantings, what is said of one of them names it in its facts.
    """
    days = list(days_of_weeks(weeks, first_day))
    sprays = [(week, day) for week, day in days if is_spray(week)]
    releases = [
        Release(week.week, day, predators_against(pest.named()))
        for week, day in days
        if week.step == RotationWeek.Step.RELEASE
    ]
    book = open_book({week.product_id for week, _day in sprays}, plantings, first_day)
    if not book.plantings:
        return _check_labels(sprays, releases, book, pest, plant_group)
    planned = [
        _planned(sprays, book, pest, planting.plant_group, treated_area_of(planting))
        for planting in book.plantings
    ]
    findings = _merged(
        [
            (planting.name, _check_planting(planting, applications, releases, book))
            for planting, applications in zip(book.plantings, planned, strict=True)
        ]
    )
    findings += check_stock(_added_up(planned), book.lots)
    return in_order(findings + _lapsing(book.certificates, today))


def _planned(
    sprays: Sequence[Spray], book: Book, pest: Pest, plant_group: str, area_sq_ft: Decimal
) -> list[PlannedApplication]:
    return [
        planned_week(
            week,
            day,
            product=book.products[week.product_id],
            facts=book.facts[week.product_id],
            pest=pest,
            plant_group=plant_group,
            area_sq_ft=area_sq_ft,
        )
        for week, day in sprays
    ]


def _check_labels(
    sprays: Sequence[Spray],
    releases: Sequence[Release],
    book: Book,
    pest: Pest,
    plant_group: str,
) -> list[Finding]:
    """Return what labels and days say by themselves, of a site without a planting."""
    planned = _planned(sprays, book, pest, plant_group, SAMPLE_SQ_FT)
    released = _check_releases(releases, planned)
    if not plant_group:
        return in_order(check_rotation(planned) + released)
    site = PlantingFacts("", plant_group, "", SAMPLE_SQ_FT)
    of_the_site = [
        finding.in_week(each.week)
        for each in planned
        for finding in check_site(each, site) + check_rate(each, plant_group)
    ]
    return in_order(check_rotation(planned) + of_the_site + released)


def _check_planting(
    planting: Planting,
    applications: Sequence[PlannedApplication],
    releases: Sequence[Release],
    book: Book,
) -> list[Finding]:
    history = book.history.get(planting.pk, [])
    found = check_rotation(
        applications,
        planting=planting_facts(planting),
        history=history,
        certificates=book.certificates,
    )
    return in_order(found + _check_releases(releases, [*history, *applications]))


def _check_releases(releases: Iterable[Release], applications: Sequence[Applied]) -> list[Finding]:
    """Return what stands against releases: what was and will be sprayed before them, and after."""
    found: list[Finding] = []
    for release in releases:
        met = check_release(release.predators, release.day, applications)
        found += [finding.in_week(release.week) for finding in met]
        later = [each for each in applications if each.day > release.day]
        found += check_after_release(release.predators, release.day, later)
    return found


def _added_up(checked: Sequence[list[PlannedApplication]]) -> list[PlannedApplication]:
    """Return the weeks with what all plantings take together; unknown amounts stay unknown."""
    together = []
    for weeks in zip(*checked, strict=True):
        amounts = [week.amount for week in weeks if week.amount is not None]
        total = sum(amounts, Decimal(0)) if len(amounts) == len(weeks) else None
        together.append(replace(weeks[0], amount=total))
    return together


def _merged(by_planting: Sequence[tuple[str, list[Finding]]]) -> list[Finding]:
    """Return findings once when all plantings share them, else with the name of the planting."""
    if len(by_planting) == 1:
        return by_planting[0][1]
    holders: dict[str, set[int]] = defaultdict(set)
    for place, (_name, findings) in enumerate(by_planting):
        for finding in findings:
            holders[repr(finding)].add(place)
    merged: dict[str, Finding] = {}
    for name, findings in by_planting:
        for finding in findings:
            if len(holders[repr(finding)]) < len(by_planting):
                finding = replace(finding, facts={**finding.facts, "planting": name})
            merged.setdefault(repr(finding), finding)
    return list(merged.values())


def _lapsing(certificates: Iterable[CertificateFacts], today: date) -> list[Finding]:
    """Return the notes on certificates about to lapse; a renewed one is not about to."""
    last: dict[tuple[str, str], CertificateFacts] = {}
    for certificate in sorted(certificates, key=lambda each: each.expires_on):
        last[certificate.holder, certificate.jurisdiction] = certificate
    return [finding for each in last.values() for finding in check_lapsing(each, today)]

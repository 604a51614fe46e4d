"""Every product in every open week: the application it would be, and what the checks say of it.

Bees may allow at dusk what they forbid by day; then the application is meant at dusk.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import date

from treatments.rules.certificates import check_certificates
from treatments.rules.composing.families import Family, family_of
from treatments.rules.composing.seasons import Offer, Season
from treatments.rules.facts import PlannedApplication, PlantingFacts
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.labels import check_organic, check_totals
from treatments.rules.rotation_checks import check_any_day, check_that_day

NOT_LISTED = gettext_noop("%(product)s is not listed for organic use, which was wished.")
LISTED_OR_NOT = gettext_noop("Choose a product that is listed, or give up the wish.")

FORBIDDEN_BY_DAY = {"bees-forage", "bee-hazard-by-day", "hives-near"}


@dataclass(frozen=True, slots=True)
class Candidate:
    """A product in a week, with what is said of it alone and what bars it there."""

    offer: Offer
    application: PlannedApplication
    findings: tuple[Finding, ...]
    bars: frozenset[Family]
    warnings: int

    @property
    def week(self) -> int:
        """The week it stands in."""
        return self.application.week


def candidates_of(season: Season) -> list[Candidate]:
    """Return a candidate for each open week and each offer, week by week."""
    judges = [_judge_of(season, offer) for offer in season.offers]
    return [judge(week, season.days[week - 1]) for week in season.open_weeks() for judge in judges]


def application_of(season: Season, offer: Offer, week: int, day: date) -> PlannedApplication:
    """Return the application that an offer would be in a week, by day."""
    return PlannedApplication(
        week=week,
        day=day,
        product=offer.product,
        pest=season.pest,
        rate=offer.rate,
        basis=offer.basis,
        with_spreader=offer.with_spreader,
        amount=offer.amount,
        amount_per_1000_sq_ft=offer.amount_per_1000_sq_ft,
        water_ph=offer.water_ph,
    )


def _judge_of(season: Season, offer: Offer) -> Callable[[int, date], Candidate]:
    """Return what judges an offer on a day; what no day changes is looked at once."""
    plantings = [treated.planting for treated in season.plantings]
    sample = application_of(season, offer, 0, season.days[0])
    standing = [finding for each in plantings for finding in check_any_day(sample, each)]
    standing += [each for each in check_totals([sample]) if each.code == "amount-unknown"]
    unlisted = _against_the_wish(season, offer, plantings)

    def judge(week: int, day: date) -> Candidate:
        application = application_of(season, offer, week, day)
        application, dated = _by_day_or_dusk(application, season, plantings)
        said = standing + dated
        bars = _bars(said, bool(unlisted), season)
        findings = _once([*said, *unlisted], week)
        warnings = sum(each.severity is Severity.WARNING for each in findings) - len(unlisted)
        return Candidate(offer, application, findings, bars, warnings)

    return judge


def _by_day_or_dusk(
    application: PlannedApplication, season: Season, plantings: Iterable[PlantingFacts]
) -> tuple[PlannedApplication, list[Finding]]:
    by_day = list(_dated(application, season, plantings))
    if not season.wishes.dusk_possible:
        return application, by_day
    if not any(finding.code in FORBIDDEN_BY_DAY for finding in by_day):
        return application, by_day
    late = replace(application, at_dusk=True)
    at_dusk = list(_dated(late, season, plantings))
    return (late, at_dusk) if _gravity(at_dusk) < _gravity(by_day) else (application, by_day)


def _gravity(findings: Iterable[Finding]) -> tuple[int, int]:
    severities = [finding.severity for finding in findings]
    return severities.count(Severity.REFUSAL), severities.count(Severity.WARNING)


def _dated(
    application: PlannedApplication, season: Season, plantings: Iterable[PlantingFacts]
) -> Iterator[Finding]:
    for planting in plantings:
        yield from check_that_day(application, planting)
        if season.certificates is not None and planting.jurisdiction:
            yield from check_certificates(
                season.certificates,
                application.product,
                jurisdiction=planting.jurisdiction,
                day=application.day,
                plant_group=planting.plant_group,
            )


def _bars(findings: Iterable[Finding], is_unlisted: bool, season: Season) -> frozenset[Family]:
    families = {family for each in findings if (family := family_of(each))}
    if is_unlisted:
        families.add(Family.ORGANIC_WISH)
    if not season.wishes.without_warnings:
        families.discard(Family.WARNINGS)
    return frozenset(families - season.wishes.given_up)


def _against_the_wish(
    season: Season, offer: Offer, plantings: Iterable[PlantingFacts]
) -> list[Finding]:
    agreed = any(check_organic(offer.product, planting) for planting in plantings)
    if not season.wishes.organic_only or offer.product.organic_listed or agreed:
        return []
    facts = {"product": offer.product.name}
    return [
        Finding(
            "organic-wished",
            Severity.WARNING,
            NOT_LISTED,
            LISTED_OR_NOT,
            facts,
            "common practice",
        )
    ]


def _once(findings: Iterable[Finding], week: int) -> tuple[Finding, ...]:
    """Return the findings of a week, each said once where plantings share it."""
    return tuple({repr(each): each.in_week(week) for each in findings}.values())

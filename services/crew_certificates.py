"""What the certificates of a crew cover: which products where, and with which sprayers.

A certificate is told as its category and place, such as "3a@US-PA"; one that is not limited also
with FULL, one whose holder is on the crew also with ON_THE_SPOT.
"""

from collections.abc import Collection, Iterable
from datetime import date

from services.models import Crew
from services.rules.plans import FULL, ON_THE_SPOT
from treatments.gathering import sprayer_as_certified
from treatments.models import Applicator, Certificate, Product, Sprayer
from treatments.rules import certificates as rules


def covering(product: Product, jurisdiction: str) -> str:
    """Return the category and the place of the certificate that covers a product there."""
    return f"{product.certificate_category.casefold()}@{jurisdiction}"


def certificate_needed(product: Product, jurisdiction: str, plant_groups: Collection[str]) -> str:
    """Return category and place, and what else the certificate must be.

    Of a restricted-use product the holder must be on the crew; beyond the limits of the place's
    limited certificates it must be a full one.
    """
    where = covering(product, jurisdiction)
    if not rules.limited_allows(jurisdiction, product.signal_word, plant_groups):
        where += FULL
    return where + ON_THE_SPOT if product.restricted_use else where


def certificates_of(crew: Crew, day: date) -> set[str]:
    """Return the categories a crew covers: those of its people, and those of their supervisors."""
    people = _applicators(crew)
    found = {name for person in [*people, *_over(people, day)] for name in _categories(person, day)}
    on_the_spot = {
        f"{name}{ON_THE_SPOT}"
        for person in people
        for name in _categories(person, day, restricted_use=True)
    }
    return found | on_the_spot


def may_spray_with(sprayer: Sprayer, category: str, held: Collection[str]) -> bool:
    """Say whether what a crew holds allows a sprayer under a category of a place.

    A limited certificate allows small ones without power, as far as its limits are known.
    """
    jurisdiction = category.partition("@")[2].partition(" ")[0]
    is_small = rules.limited_sprays_with(jurisdiction, sprayer_as_certified(sprayer))
    return is_small or category + FULL in held


def certificates_that_count(crew: Crew, day: date, *, restricted_use: bool) -> list[Certificate]:
    """Return the certificates under which a crew applies a product, whether they hold or not.

    They are those of its people, and those of their supervisors where the holder may be elsewhere.
    """
    people = _applicators(crew)
    holders = (
        people
        if restricted_use
        else {each.pk: each for each in [*people, *_over(people, day)]}.values()
    )
    return [held for person in holders for held in person.certificates.all()]


def _over(people: Iterable[Applicator], day: date) -> list[Applicator]:
    """Return the supervisors of those who were trained, as far as it is in the book."""
    return [person.supervisor for person in people if person.supervisor and _trained(person, day)]


def _trained(person: Applicator, day: date) -> bool:
    until = person.trained_until()
    return person.trained_on is not None and until is not None and person.trained_on <= day <= until


def _categories(person: Applicator, day: date, *, restricted_use: bool = False) -> set[str]:
    return {
        f"{category.casefold()}@{held.jurisdiction}{kind}"
        for held in person.certificates.all()
        if held.holds_on(day)
        and not held.own_property_only
        and not (restricted_use and held.bars_restricted_use)
        for category in held.categories
        for kind in ({""} if held.is_limited else {"", FULL})
    }


def _applicators(crew: Crew) -> list[Applicator]:
    people = [person.user for person in crew.technicians.all() if person.user.is_active]
    return [user.applicator for user in people if hasattr(user, "applicator")]

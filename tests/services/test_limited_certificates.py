"""Where only a limited certificate is held, the sprayer is as small as it allows, or nobody goes.

Florida's allows a hand sprayer to 3 gallons or a backpack to 5, without power [FL-482].
"""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from services.dispatching import dispatch_day, what_stands_in_the_way
from services.dispatching.crews import crews_at_work
from services.mixing import mixing_of
from services.models import Visit
from treatments.models import Certificate, Sprayer

MONDAY = date(2026, 7, 6)
DAWN = datetime(2026, 7, 6, 9, tzinfo=UTC)
SIZES = [
    ("backpack", "5", True),
    ("backpack", "5.25", False),
    ("hand", "3", True),
    ("hand", "3.25", False),
    ("power", "2", False),
]


@pytest.fixture
def visit(visits, crew, soap, soap_lot, calibration, applicator, reading_society, library):
    """A visit in Florida, where the crew holds a limited certificate; all else is ready."""
    reading_society.wants_notice = False
    reading_society.save()
    library.jurisdiction = "US-FL"
    library.save()
    Certificate.objects.update(jurisdiction="US-FL", is_limited=True)
    soap.certificate_category = "ornamental and turf"
    soap.signal_word = "CAUTION"
    soap.save()
    return Visit.objects.with_all_that_is_shown().get(pk=visits[0].pk)


def codes(visit):
    found = what_stands_in_the_way([visit], MONDAY)[visit.pk]
    return [each.code for each in found if each.source == "FL-482"]


@pytest.mark.parametrize(("kind", "gallons", "allowed"), SIZES)
def test_the_week_says_where_every_sprayer_is_too_large(visit, kind, gallons, allowed):
    Sprayer.objects.update(kind=kind, tank_gallons=Decimal(gallons))

    assert codes(visit) == ([] if allowed else ["limited-sprayer"])


@pytest.mark.parametrize(("kind", "gallons", "allowed"), SIZES)
def test_the_crew_is_sent_only_with_a_sprayer_it_may_use(visit, owner, kind, gallons, allowed):
    Sprayer.objects.update(kind=kind, tank_gallons=Decimal(gallons))
    dispatch_day(day=MONDAY, visits=[visit], by=owner, now=DAWN)
    visit.refresh_from_db()

    assert (visit.dispatch is not None) is allowed


def test_a_full_certificate_allows_every_sprayer(visit, owner):
    Sprayer.objects.update(kind="power", tank_gallons=Decimal(100))
    Certificate.objects.update(is_limited=False)
    dispatch_day(day=MONDAY, visits=[visit], by=owner, now=DAWN)
    visit.refresh_from_db()

    assert codes(visit) == []
    assert visit.dispatch is not None


def test_where_the_limits_are_not_known_no_sprayer_is_refused(visit, library):
    library.jurisdiction = "US-PA"
    library.save()
    Certificate.objects.update(jurisdiction="US-PA")
    Sprayer.objects.update(kind="power", tank_gallons=Decimal(100))
    visit.refresh_from_db()

    assert codes(visit) == []


def test_of_two_sprayers_the_one_that_is_allowed_is_mixed_for(visit, crew, sprayer):
    large = Sprayer.objects.create(
        name="Tank 1", kind="power", tank_gallons=Decimal(50), reach_ft=20
    )
    crew.truck.sprayers.add(large)
    mixing = mixing_of(visit, crews_at_work()[0], MONDAY)
    crew.truck.sprayers.remove(sprayer)
    refused = mixing_of(visit, crews_at_work()[0], MONDAY)

    assert mixing.sprayer == sprayer
    assert refused.sprayer is None
    assert "limited certificate" in refused.why_not()

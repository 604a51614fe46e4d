"""Why a visit has no mix: no crew yet, a hedge too high, a spray that no sprayer stirs."""

from datetime import date

import pytest

from services.mixing import mixing_of
from services.models import Visit

MONDAY = date(2026, 7, 6)


@pytest.mark.parametrize(
    ("reach_ft", "settles", "says"),
    [
        (5, False, "No sprayer that reaches the planting is on the truck."),
        (30, True, "no sprayer on the truck that reaches the planting stirs."),
    ],
)
def test_what_the_truck_lacks_is_named(visits, crew, sprayer, soap, reach_ft, settles, says):
    sprayer.reach_ft, sprayer.has_agitation = reach_ft, False
    sprayer.save()
    soap.needs_agitation = settles
    soap.save()
    visits[0].course.plantings.update(height_ft=6)

    visit = Visit.objects.get(pk=visits[0].pk)
    assert mixing_of(visit, crew, MONDAY).why_not().endswith(says)


def test_without_a_crew_no_truck_is_blamed(visits):
    assert mixing_of(visits[0], None, MONDAY).why_not() == (
        "No crew goes yet, so it is not known which sprayer takes it."
    )

"""A certificate that lapses, is suspended or changes after a visit was given to a crew.

A certificate counts by category and place, and through its last day [40CFR171-101].
"""

from datetime import UTC, datetime, timedelta

import pytest
from django.urls import reverse

from services.dispatching import dispatch_day, what_stands_in_the_way
from services.models import Visit
from services.showing.day import crew_days
from services.weathering import forecasts_at
from tests.conftest import certified
from treatments.models import Certificate

DAWN = datetime(2026, 7, 6, 9, tzinfo=UTC)
TODAY = "/day/2026-07-06/"
WEEK = "/week/2026-W28/"
SAID = "no certificate of its people allows Quiet Soap in Pennsylvania on that day any more"


@pytest.fixture
def route(visits, soap, soap_lot, oil_lot, calibration, crew, reading_society, owner, on_monday):
    """The first visit, given to the crew for Monday while its certificate held."""
    reading_society.wants_notice = False
    reading_society.save()
    soap.certificate_category = "ornamental and turf"
    soap.save()
    return dispatch_day(day=on_monday, visits=[visits[0]], by=owner, now=DAWN).dispatches[0]


def codes(visit, day):
    return [each.code for each in what_stands_in_the_way([visit], day)[visit.pk]]


@pytest.mark.parametrize(
    ("days", "found"), [(0, []), (-1, ["crew-not-certified", "certificate-expired"])]
)
def test_the_last_day_of_a_certificate_still_holds(route, visits, on_monday, days, found):
    Certificate.objects.update(expires_on=on_monday + timedelta(days))

    assert codes(visits[0], on_monday) == found


@pytest.mark.parametrize(
    ("from_day", "until_day", "found"),
    [
        (1, None, []),
        (0, None, ["crew-not-certified", "certificate-suspended"]),
        (-9, 1, ["crew-not-certified", "certificate-suspended"]),
        (-9, 0, []),
    ],
)
def test_a_suspension_counts_from_its_first_day_until_it_ends(
    route, visits, on_monday, from_day, until_day, found
):
    ends = None if until_day is None else on_monday + timedelta(until_day)
    Certificate.objects.update(suspended_from=on_monday + timedelta(from_day), reinstated_on=ends)

    assert codes(visits[0], on_monday) == found


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"categories": ["aquatic"]}, ["category-not-held"]),
        ({"jurisdiction": "US-NJ"}, []),
        ({"own_property_only": True}, ["certificate-own-property"]),
    ],
)
def test_what_a_certificate_does_not_cover_any_more_is_said(route, visits, on_monday, changes, why):
    Certificate.objects.update(**changes)

    assert codes(visits[0], on_monday) == ["crew-not-certified", *why]


def test_a_certificate_of_somebody_who_is_not_on_the_crew_does_not_serve(route, visits, on_monday):
    Certificate.objects.update(expires_on=on_monday - timedelta(1))
    certified("another", "B. Holder", "PA-0008")

    assert codes(visits[0], on_monday) == ["crew-not-certified", "certificate-expired"]


def test_who_left_the_crew_takes_the_certificate_along(route, visits, crew, on_monday):
    crew.technicians.update(crew=None)

    assert "crew-not-certified" in codes(visits[0], on_monday)


def test_a_supervisor_answers_for_who_was_trained(route, visits, applicator, on_monday):
    Certificate.objects.update(expires_on=on_monday - timedelta(1))
    applicator.supervisor = certified("another", "B. Holder", "PA-0008")
    applicator.trained_on = on_monday
    applicator.save()

    assert codes(visits[0], on_monday) == []


def test_of_a_restricted_product_the_holder_is_on_the_crew(
    route, visits, soap, applicator, on_monday
):
    # [40CFR171-303] who answers for it; that the holder goes along is this project's own rule
    soap.restricted_use = True
    soap.save()
    Certificate.objects.update(expires_on=on_monday - timedelta(1))
    applicator.supervisor = certified("another", "B. Holder", "PA-0008")
    applicator.trained_on = on_monday
    applicator.save()

    assert codes(visits[0], on_monday) == ["crew-not-certified", "certificate-expired"]


def test_a_product_that_needs_no_category_asks_for_no_certificate(route, visits, soap, on_monday):
    soap.certificate_category = ""
    soap.save()
    Certificate.objects.update(expires_on=on_monday - timedelta(1))

    assert codes(visits[0], on_monday) == []


def test_a_visit_that_was_made_is_not_spoken_of(route, visits, owner, on_monday):
    Visit.objects.filter(pk=visits[0].pk).update(state="COMPLETED", completed_at=DAWN)
    Certificate.objects.update(expires_on=on_monday - timedelta(1))

    assert crew_days(on_monday, owner, forecasts_at(DAWN))[0].against == []
    assert codes(Visit.objects.get(pk=visits[0].pk), on_monday) == []


def test_another_crew_may_still_be_sent(route, visits, on_monday, owner, crew):
    Certificate.objects.update(expires_on=on_monday - timedelta(1))
    crew.technicians.create(user=certified("another", "B. Holder", "PA-0008").user)
    dispatch_day(day=on_monday, visits=[visits[0]], by=owner, now=DAWN)

    assert Visit.objects.get(pk=visits[0].pk).dispatch is not None


@pytest.mark.parametrize("address", [TODAY, WEEK])
@pytest.mark.parametrize(("days", "is_said"), [(0, False), (-1, True)])
def test_day_and_week_say_it_in_words(client, owner, route, on_monday, address, days, is_said):
    Certificate.objects.update(expires_on=on_monday + timedelta(days))
    client.force_login(owner)
    page = client.get(address).content.decode()

    assert (SAID in page) is is_said
    assert ("expires on Sun Jul 5, before Mon Jul 6" in page) is is_said
    assert (reverse("services:people") in page.split("</nav>")[-1]) is is_said


def test_the_crew_is_told_without_a_way_to_the_certificates(client, technician, route, on_monday):
    Certificate.objects.update(expires_on=on_monday - timedelta(1))
    client.force_login(technician)
    page = client.get(TODAY).content.decode()

    assert SAID in page
    assert reverse("services:people") not in page


@pytest.mark.parametrize("address", [TODAY, WEEK])
def test_more_visits_on_the_route_ask_no_more_often(
    queries_of, route, owner, on_monday, request, address
):
    Certificate.objects.update(expires_on=on_monday - timedelta(1))
    twin = request.getfixturevalue("second_course").visits.order_by("planned").first()
    alone = queries_of(address)
    Visit.objects.filter(pk=twin.pk).update(dispatch=route, position=2)

    assert queries_of(address) == alone


def test_the_api_of_the_week_says_it_too(api, owner, route, on_monday):
    Certificate.objects.update(expires_on=on_monday - timedelta(1))
    api.force_authenticate(owner)
    answer = api.get("/api/v1/week/", {"monday": "2026-07-06"}).json()
    found = [each["code"] for row in answer["groups"][0]["rows"] for each in row["findings"]]

    assert found == ["crew-not-certified", "certificate-expired"]

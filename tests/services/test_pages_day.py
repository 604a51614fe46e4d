"""The page of the day: each crew's way, list and load; what has no crew; a day taken back."""

from datetime import UTC, date, datetime, timedelta
from xml.etree import ElementTree

import pytest
from django.urls import reverse

from services import dispatching
from services.charting import run_of
from services.holding import hold_visit
from services.models import Crew, Dispatch, Visit
from services.showing.day import dispatches_for, legs_of

TODAY = "/day/2026-07-06/"


@pytest.fixture
def route(visits, soap_lot, oil_lot, calibration, crew, owner, on_monday):
    """The first visit, given to the crew for Monday."""
    now = datetime(2026, 7, 6, 10, tzinfo=UTC)
    plan = dispatching.dispatch_day(day=on_monday, visits=[visits[0]], by=owner, now=now)
    return plan.dispatches[0]


def test_the_day_shows_the_way_the_list_and_the_load(client, owner, route, soap_lot):
    client.force_login(owner)
    page = client.get("/day/").content.decode()

    assert "Monday, July 6, 2026" in page
    assert "<svg" in page
    assert "Library" in page
    assert f"lot {soap_lot.lot_number}" in page
    assert reverse("services:visit_sheets", args=[route.pk]) in page


def test_the_stops_of_a_day_are_numbered_in_their_order(owner, route):
    legs = legs_of(dispatches_for(owner).get())
    stops = [leg for leg in legs if leg.visit]

    assert [leg.number for leg in stops] == [1]
    assert [leg.starts for leg in legs] == sorted(leg.starts for leg in legs)
    assert legs[-1].ends == route.returns_at


def test_the_drawing_tells_the_hours_of_the_yard(owner, route):
    run = run_of(dispatches_for(owner).get())

    # Civil time on the Delaware in July is UTC-4 [IANA America/New_York]
    assert run.leaves_at.utcoffset().total_seconds() == -4 * 3600
    assert run.stops[0].arrives_at <= run.stops[0].begins_at < run.stops[0].ends_at
    assert run.stops[0].windows[0].kind == "access"


def test_the_drawing_leaves_a_stop_once_lunch_is_over(owner, route):
    work = next(place for place, leg in enumerate(route.legs) if leg["kind"] == "work")
    until = datetime.fromisoformat(route.legs[work]["until"])
    lunch_ends = until + timedelta(minutes=30)
    lunch = {"kind": "lunch", "from": until.isoformat(), "until": lunch_ends.isoformat()}
    back = {**route.legs[work + 1], "from": lunch_ends.isoformat()}
    route.legs = [*route.legs[: work + 1], lunch, back]
    route.save()

    [stop] = run_of(dispatches_for(owner).get()).stops

    assert (stop.ends_at, stop.leaves_at) == (until, lunch_ends)


def test_the_drawing_by_itself_is_an_image_that_only_the_reader_keeps(client, owner, route):
    client.force_login(owner)
    answer = client.get(reverse("services:day_chart", args=[route.pk]))

    assert answer["Content-Type"] == "image/svg+xml"
    assert "private" in answer["Cache-Control"]
    assert ElementTree.fromstring(answer.content).tag.endswith("svg")  # noqa: S314


def test_an_empty_day_offers_the_week_to_whom_it_is_open(client, owner, technician, yard):
    week = reverse("services:week", args=[date(2026, 7, 6)])
    client.force_login(owner)
    assert week in client.get(TODAY).content.decode()

    client.force_login(technician)
    assert week not in client.get(TODAY).content.decode()


def test_what_has_no_crew_says_why(client, owner, visits, on_monday):
    hold_visit(visits[0], reason="rain", by=owner, at=datetime(2026, 7, 6, 13, tzinfo=UTC))
    client.force_login(owner)
    page = client.get(TODAY).content.decode()

    assert "Planned for this day, without a crew" in page
    assert "rain" in page


def test_a_reason_tells_its_day_in_words(client, owner, visits, on_monday):
    told = {"sentence": "%(crew)s could take it.", "facts": {"crew": "Moth (2026-07-11)"}}
    Visit.objects.filter(pk=visits[0].pk).update(left_out=told)
    client.force_login(owner)

    assert "Moth (Sat Jul 11) could take it." in client.get(TODAY).content.decode()


def test_a_technician_sees_the_own_crew_and_no_other(client, technician, owner, route, yard):
    other = Crew.objects.create(
        yard=yard, name="Crew two", shift_starts="07:00", shift_ends="17:00"
    )
    Dispatch.objects.create(
        crew=other,
        day=route.day,
        made_at=route.made_at,
        leaves_yard_at=route.leaves_yard_at,
        returns_at=route.returns_at,
    )
    client.force_login(technician)
    page = client.get("/day/").content.decode()

    assert "Crew one" in page
    assert "Crew two" not in page
    assert "Take this day back" not in page


def test_another_crews_drawing_is_not_found(client, technician, route, yard):
    technician.technician.crew = None
    technician.technician.save()
    client.force_login(technician)

    assert client.get(reverse("services:day_chart", args=[route.pk])).status_code == 404


def test_taking_a_day_back_asks_first(client, dispatcher, route):
    client.force_login(dispatcher)
    page = client.get(reverse("services:recall_dispatch", args=[route.pk]))

    assert "Take it back" in page.content.decode()
    assert Dispatch.objects.filter(pk=route.pk).exists()


def test_a_day_taken_back_leaves_its_visits_without_a_crew(client, dispatcher, route, visits):
    client.force_login(dispatcher)
    address = reverse("services:recall_dispatch", args=[route.pk])
    answer = client.post(address)

    assert answer.url == TODAY
    assert Visit.objects.get(pk=visits[0].pk).dispatch is None
    assert client.post(address).status_code == 404


@pytest.mark.parametrize("who", ["technician", "applicator_user"])
def test_only_the_office_takes_a_day_back(client, request, route, who):
    user = (
        request.getfixturevalue("applicator").user
        if who == "applicator_user"
        else request.getfixturevalue(who)
    )
    client.force_login(user)

    assert client.post(reverse("services:recall_dispatch", args=[route.pk])).status_code == 403


@pytest.mark.parametrize("address", ["/day/2026-02-30/", "/day/2026-7-6/", "/day/never/"])
def test_a_day_that_does_not_exist_is_not_found(client, owner, address):
    client.force_login(owner)

    assert client.get(address).status_code == 404


def test_an_inspector_has_no_day_and_a_stranger_signs_in(client, inspector):
    assert client.get("/day/").url.startswith("/accounts/login/")

    client.force_login(inspector)

    assert client.get("/day/").status_code == 403


def test_a_day_without_crews_says_what_will_stand_there(client, owner, on_monday):
    client.force_login(owner)

    assert "once visits are dispatched" in client.get("/day/").content.decode()


def test_the_day_takes_as_many_queries_for_two_stops_as_for_one(
    queries_of, route, owner, on_monday, request
):
    first = queries_of(TODAY)
    twin = request.getfixturevalue("second_course").visits.order_by("planned").first()
    dispatching.dispatch_day(
        day=on_monday, visits=[twin], by=owner, now=datetime(2026, 7, 6, 10, tzinfo=UTC)
    )

    assert Visit.objects.filter(dispatch__day=on_monday).count() == 2
    assert queries_of(TODAY) == first

"""Yards, crews, courses, dispatches, the outbox and the week through the API."""

from datetime import UTC, datetime

import pytest
import time_machine

from services.models import Course, Crew, Dispatch, Outbox, Technician
from treatments.models import Lot

MORNING = datetime(2026, 7, 6, 10, tzinfo=UTC)


@pytest.fixture(autouse=True)
def that_morning():
    """Stop the clock on the morning of the first visit."""
    with time_machine.travel(MORNING, tick=False):
        yield


@pytest.mark.parametrize(
    "path",
    ["yards", "crews", "trucks", "technicians", "courses", "dispatches", "outbox", "week"],
)
def test_a_stranger_reads_nothing(api, db, path):
    assert api.get(f"/api/v1/{path}/").status_code == 401


@pytest.mark.parametrize(
    ("path", "allowed"),
    [
        ("yards", True),
        ("crews", True),
        ("dispatches", True),
        ("trucks", False),
        ("technicians", False),
        ("courses", False),
        ("outbox", False),
        ("week", False),
    ],
)
def test_what_a_technician_reads(api, technician, path, allowed):
    api.force_authenticate(technician)

    assert api.get(f"/api/v1/{path}/").status_code == (200 if allowed else 403)


@pytest.mark.parametrize(
    "path", ["yards", "crews", "trucks", "courses", "dispatches", "visits", "outbox", "week"]
)
def test_an_inspector_reads_none_of_it(api, inspector, path):
    api.force_authenticate(inspector)

    assert api.get(f"/api/v1/{path}/").status_code == 403


def test_a_technician_sees_the_own_crew_only(api, technician, crew):
    Crew.objects.create(yard=crew.yard, name="Crew two", shift_starts="07:00", shift_ends="17:00")
    api.force_authenticate(technician)

    assert [row["name"] for row in api.get("/api/v1/crews/").data["results"]] == ["Crew one"]


@pytest.mark.parametrize(("who", "status"), [("dispatcher", 201), ("technician", 403)])
def test_the_office_adds_crews(api, request, yard, who, status):
    api.force_authenticate(request.getfixturevalue(who))
    made = {"yard": yard.pk, "name": "Crew two", "shift_starts": "07:00", "shift_ends": "17:00"}

    assert api.post("/api/v1/crews/", made).status_code == status


@pytest.mark.parametrize(
    "change", [{"shift_ends": "06:00"}, {"weekdays": ["7"]}, {"name": ""}, {"yard": 0}]
)
def test_a_crew_that_cannot_be_is_refused(api, owner, yard, change):
    api.force_authenticate(owner)
    made = {"yard": yard.pk, "name": "Crew two", "shift_starts": "07:00", "shift_ends": "17:00"}

    assert api.post("/api/v1/crews/", made | change).status_code == 400


def test_the_office_keeps_yards_and_trucks(api, dispatcher, yard, crew, sprayer):
    api.force_authenticate(dispatcher)

    yard_kept = api.patch(f"/api/v1/yards/{yard.pk}/", {"supervisor_phone": "555-0111"})
    truck_kept = api.patch(f"/api/v1/trucks/{crew.truck.pk}/", {"sprayers": [sprayer.pk]})

    assert yard_kept.data["supervisor_phone"] == "555-0111"
    assert truck_kept.data["sprayers"] == [sprayer.pk]


def test_the_owner_puts_a_person_on_a_crew(api, owner, technician, crew):
    api.force_authenticate(owner)
    person = Technician.objects.get(user=technician)

    answer = api.patch(f"/api/v1/technicians/{person.pk}/", {"language": "es", "crew": None})

    assert (answer.data["language"], answer.data["crew"]) == ("es", None)
    assert api.post("/api/v1/technicians/", {}).status_code == 405


def test_a_rotation_is_put_on_plantings(
    api, dispatcher, rotation, rose_bed, soap_lot, oil_lot, applicator
):
    api.force_authenticate(dispatcher)
    asked = {"rotation": rotation.pk, "plantings": [rose_bed.pk], "first_day": "2026-07-06"}

    first, again = (api.post("/api/v1/courses/", asked) for _time in range(2))

    assert (first.status_code, again.status_code) == (201, 201)
    assert len(first.data[0]["visits"]) == 3
    assert first.data[0]["id"] == again.data[0]["id"]
    assert Course.objects.count() == 1


@pytest.mark.parametrize(
    "change",
    [{"plantings": []}, {"plantings": [0]}, {"first_day": "2026-07-05"}, {"rotation": None}],
)
def test_a_course_that_cannot_begin_is_refused(api, dispatcher, rotation, rose_bed, change):
    api.force_authenticate(dispatcher)
    asked = {"rotation": rotation.pk, "plantings": [rose_bed.pk], "first_day": "2026-07-06"}

    assert api.post("/api/v1/courses/", asked | change).status_code == 400
    assert not Course.objects.exists()


def test_a_course_is_ended_with_how_it_came_out(api, dispatcher, course):
    api.force_authenticate(dispatcher)

    answer = api.post(f"/api/v1/courses/{course.pk}/end/", {"outcome": "worked"})

    assert answer.data["outcome"] == "worked"
    assert not course.visits.open().exists()


def test_a_course_is_not_ended_without_an_outcome(api, dispatcher, course):
    api.force_authenticate(dispatcher)

    assert api.post(f"/api/v1/courses/{course.pk}/end/", {}).status_code == 400


@pytest.fixture
def ready(visits, soap_lot, oil_lot, calibration, crew):
    """The visits with all that a dispatch of the first takes."""
    return visits


def test_a_day_is_handed_out_and_taken_back(api, dispatcher, ready):
    api.force_authenticate(dispatcher)

    days = api.post(
        "/api/v1/dispatches/dispatch/", {"day": "2026-07-06", "visits": [ready[0].pk]}
    ).data
    number = days[0]["dispatches"][0]["id"]
    shown = api.get(f"/api/v1/dispatches/{number}/").data
    recalled = api.post(f"/api/v1/dispatches/{number}/recall/")

    assert shown["visits"] == [ready[0].pk]
    assert shown["load"][0]["product"] == "Quiet Soap"
    assert recalled.data["visits"] == [ready[0].pk]
    assert not Dispatch.objects.exists()


def test_a_week_is_handed_out_each_visit_on_its_day(api, dispatcher, ready):
    api.force_authenticate(dispatcher)
    asked = {"monday": "2026-07-06", "visits": [ready[0].pk]}

    days = api.post("/api/v1/dispatches/dispatch/", asked).data

    assert [day["day"] for day in days if day["dispatches"]] == ["2026-07-06"]


@pytest.mark.parametrize(("language", "words"), [("en", "expired"), ("es", "vencidos")])
def test_what_no_crew_takes_says_why(api, dispatcher, ready, language, words):
    Lot.objects.filter(product__name="Quiet Soap").update(expires_on="2026-04-01")
    api.force_authenticate(dispatcher)
    asked = {"day": "2026-07-06", "visits": [ready[0].pk]}

    spoken = {"Accept-Language": language}
    days = api.post("/api/v1/dispatches/dispatch/", asked, headers=spoken).data

    assert days[0]["left_out"][0]["id"] == ready[0].pk
    assert words in days[0]["left_out"][0]["reason"]


@pytest.mark.parametrize(
    "asked",
    [
        {"visits": [1]},
        {"day": "2026-07-06", "monday": "2026-07-06", "visits": [1]},
        {"monday": "2026-07-07", "visits": [1]},
        {"day": "2026-07-06", "visits": []},
        {"day": "2026-07-06", "visits": [0]},
        {"day": "2026-07-06", "visits": [987654]},
        {"day": "2026-07-05", "visits": "all"},
    ],
)
def test_a_dispatch_that_says_too_little_or_too_much_is_refused(api, dispatcher, asked):
    api.force_authenticate(dispatcher)

    assert api.post("/api/v1/dispatches/dispatch/", asked).status_code == 400


@pytest.mark.parametrize("who", ["technician", "applicator"])
def test_only_the_office_dispatches(api, request, ready, who):
    user = request.getfixturevalue(who)
    api.force_authenticate(getattr(user, "user", user))
    asked = {"day": "2026-07-06", "visits": [ready[0].pk]}

    assert api.post("/api/v1/dispatches/dispatch/", asked).status_code == 403


def test_another_crews_dispatch_is_not_there(api, technician, dispatched, yard):
    other = Crew.objects.create(
        yard=yard, name="Crew two", shift_starts="07:00", shift_ends="17:00"
    )
    Technician.objects.filter(user=technician).update(crew=other)
    api.force_authenticate(technician)

    assert api.get(f"/api/v1/dispatches/{dispatched.dispatch_id}/").status_code == 404


def test_many_dispatches_ask_as_often_as_one(
    api, owner, dispatched, crew, yard, django_assert_max_num_queries
):
    twin = Dispatch.objects.get()
    twin.pk = None
    twin.crew = Crew.objects.create(
        yard=yard, name="Crew two", shift_starts="07:00", shift_ends="17:00"
    )
    twin.save(force_insert=True)
    api.force_authenticate(owner)

    with django_assert_max_num_queries(6):  # role, count, dispatches, visits, loads, trucks
        assert api.get("/api/v1/dispatches/").data["count"] == 2


@pytest.fixture
def failed(visits):
    """A summary that could not be sent."""
    return Outbox.objects.create(
        kind=Outbox.Kind.CLIENT_SUMMARY,
        arguments={"visit": visits[0].pk},
        dedupe_key="client summary:1",
        not_before=MORNING,
        failed_at=MORNING,
        attempts=5,
        last_error="no answer",
    )


def test_what_failed_is_tried_again(api, dispatcher, failed):
    api.force_authenticate(dispatcher)

    answer = api.post(f"/api/v1/outbox/{failed.pk}/retry/")

    assert answer.data["failed_at"] is None
    assert answer.data["attempts"] == 0


def test_an_applicator_sees_no_outbox(api, applicator, failed):
    api.force_authenticate(applicator.user)

    assert api.get(f"/api/v1/outbox/{failed.pk}/").status_code == 403


def test_the_week_tells_the_facts_of_its_page(api, owner, visits):
    api.force_authenticate(owner)

    answer = api.get("/api/v1/week/", {"monday": "2026-07-08"})

    row = answer.data["groups"][0]["rows"][0]
    assert str(answer.data["monday"]) == "2026-07-06"
    assert (row["visit"], row["product"], row["mark"]) == (visits[0].pk, "Quiet Soap", "planned")
    assert row["plantings"] == ["Rose bed"]


def test_a_week_that_is_none_is_refused(api, owner):
    api.force_authenticate(owner)

    assert api.get("/api/v1/week/", {"monday": "soon"}).status_code == 400


def test_the_week_asks_as_often_for_two_courses_as_for_one(
    api, owner, visits, django_assert_max_num_queries, request
):
    api.force_authenticate(owner)
    with django_assert_max_num_queries(40) as alone:
        api.get("/api/v1/week/")
    request.getfixturevalue("second_course")

    with django_assert_max_num_queries(len(alone.captured_queries)):
        assert len(api.get("/api/v1/week/").data["groups"][0]["rows"]) == 2

"""Pages of courses: put on after a look, moved within their days, held, lifted and ended."""

from datetime import UTC, date, datetime

import pytest
from django.urls import reverse

from clients.models import Planting
from services.forms.courses import MOST_OFFERED
from services.holding import hold_visit
from services.models import Course, Hold, Technician, Visit

MONDAY = date(2026, 7, 6)
NEW = "/courses/new/"


@pytest.fixture
def choice(rotation, rose_bed, soap_lot, oil_lot, applicator, on_monday):
    """The rotation, the rose bed and Monday, as they are typed."""
    return {"rotation": rotation.pk, "plantings": [rose_bed.pk], "first_day": "2026-07-06"}


@pytest.fixture
def put_on(client, owner, choice):
    """Look at a choice, then put on what was looked at; return both answers."""
    client.force_login(owner)

    def look_then_keep(**changed):
        look = client.post(NEW, choice | changed)
        shown = look.context["form"].data["looked_at"]
        return look, client.post(NEW, choice | changed | {"looked_at": shown})

    return look_then_keep


@pytest.fixture
def office(client, dispatcher, visits, on_monday):
    """The office, signed in on Monday, with the course under way."""
    client.force_login(dispatcher)
    return client


@pytest.fixture
def held(visits, owner):
    """The first visit, put off for wind on Monday morning."""
    return hold_visit(
        visits[0], reason="wind", note="", by=owner, at=datetime(2026, 7, 6, 13, tzinfo=UTC)
    )


def move(visit, **typed):
    return reverse("services:move_visit", args=[visit.pk]), {
        "day": "2026-07-08",
        "version": visit.version,
        **typed,
    }


def test_a_rotation_is_put_on_only_after_a_look(put_on):
    look, kept = put_on()

    assert look.status_code == 200
    assert "Put it on" in look.content.decode()
    assert kept.url == reverse("services:course", args=[Course.objects.get().pk])
    assert Visit.objects.count() == 3


def test_the_first_sending_keeps_nothing(client, owner, choice):
    client.force_login(owner)
    client.post(NEW, choice)

    assert not Course.objects.exists()


def test_another_choice_than_the_one_looked_at_is_shown_first(client, owner, choice):
    client.force_login(owner)
    look = client.post(NEW, choice)
    seen = look.context["form"].data["looked_at"]
    client.post(NEW, choice | {"looked_at": seen, "first_day": "2026-07-07"})

    assert not Course.objects.exists()


def test_putting_on_twice_is_one_course(put_on):
    put_on()
    put_on()

    assert Course.objects.count() == 1
    assert Visit.objects.count() == 3


def test_what_the_label_forbids_is_refused_with_the_reason(put_on, rotation):
    rotation.weeks.filter(week=1).update(rate=9)  # the label allows 5 fl oz in a gallon
    look, kept = put_on()

    assert (look.status_code, kept.status_code) == (422, 422)
    assert "above the label" in look.content.decode()
    assert not Course.objects.exists()


def test_findings_stand_under_the_planting_they_speak_of(client, owner, choice, second_course):
    bed = second_course.plantings.get()
    bed.plant_group = "lawn"
    bed.save()
    Course.objects.get(pk=second_course.pk)
    client.force_login(owner)
    look = client.post(NEW, choice | {"plantings": [*choice["plantings"], bed.pk]})
    said = look.context["look"].said

    assert said[0].planting is None
    assert bed in [each.planting for each in said]


@pytest.mark.parametrize(
    "wrong", [{"plantings": []}, {"first_day": "soon"}, {"rotation": 9999}, {"plantings": ["x"]}]
)
def test_what_cannot_be_read_is_said_at_its_field(client, owner, choice, wrong):
    client.force_login(owner)

    assert client.post(NEW, choice | wrong).status_code == 422
    assert not Course.objects.exists()


def test_a_course_does_not_begin_in_the_past(put_on):
    _look, kept = put_on(first_day="2026-07-03")

    assert kept.status_code == 422
    assert "begins today or later" in kept.content.decode()


@pytest.mark.parametrize(
    ("asked", "offered"), [("words=rose", True), ("words=spruce", False), ("property=x", True)]
)
def test_plantings_are_offered_as_asked(client, owner, choice, asked, offered):
    client.force_login(owner)
    page = client.get(f"{NEW}?{asked}").content.decode()

    assert ("Rose bed (hybrid rose)" in page) is offered
    assert ("Offer all" in page) is asked.startswith("words")


def test_a_planting_that_was_chosen_narrows_nothing(client, owner, choice, rose_bed):
    client.force_login(owner)
    page = client.get(f"{NEW}?planting={rose_bed.pk}&words=").content.decode()

    assert "Offer all" not in page


def test_the_page_of_a_course_shows_its_weeks(office, course, done_visit):
    page = office.get(reverse("services:course", args=[course.pk])).content.decode()

    assert "done on Mon Jul 6" in page
    assert "planned for Mon Jul 13" in page
    assert "knock down" in page


def test_a_visit_is_moved_and_the_later_weeks_follow(office, visits):
    address, typed = move(visits[0])
    office.post(address, typed)

    # Wednesday the 8th, and seven days on from there each
    planned = Visit.objects.order_by("rotation_week__week").values_list("planned", flat=True)
    assert list(planned) == [date(2026, 7, 8), date(2026, 7, 15), date(2026, 7, 22)]


def test_moving_twice_moves_once(office, visits):
    address, typed = move(visits[0])
    office.post(address, typed)
    again = office.post(address, typed)

    assert again.status_code == 412
    assert Visit.objects.get(pk=visits[0].pk).planned == date(2026, 7, 8)


def test_after_somebody_elses_change_the_same_day_may_be_sent_again(office, visits):
    address, typed = move(visits[0], version=visits[0].version + 5)
    stale = office.post(address, typed)

    assert stale.status_code == 412
    assert f'name="version" value="{visits[0].version}"' in stale.content.decode()
    assert 'value="2026-07-08"' in stale.content.decode()


@pytest.mark.parametrize(("day", "is_moved"), [("2026-07-10", True), ("2026-07-11", False)])
def test_a_visit_moves_to_its_latest_day_and_not_beyond(office, visits, day, is_moved):
    address, typed = move(visits[0], day=day)
    answer = office.post(address, typed)

    assert answer.status_code == (302 if is_moved else 422)


def test_an_applicator_moves_the_own_courses_only(client, applicator, visits, course, on_monday):
    client.force_login(applicator.user)
    address, typed = move(visits[0])

    assert client.post(address, typed).status_code == 403

    Course.objects.filter(pk=course.pk).update(started_by=applicator.user)
    assert client.post(address, typed).status_code == 302


def test_a_visit_is_held_with_its_reason(office, visits):
    address = reverse("services:hold_visit", args=[visits[0].pk])
    office.post(address, {"reason": "wind", "note": "gusts"})
    office.post(address, {"reason": "rain", "note": ""})

    assert [(hold.reason, hold.note) for hold in Hold.objects.all()] == [("wind", "gusts")]


def test_another_reason_must_be_named(office, visits):
    address = reverse("services:hold_visit", args=[visits[0].pk])
    answer = office.post(address, {"reason": "other", "note": ""})

    assert answer.status_code == 422
    assert "Say which other reason it is." in answer.content.decode()


def test_only_the_certified_lift_a_hold(office, client, applicator, held):
    address = reverse("services:lift_hold", args=[held.pk])

    assert office.post(address).status_code == 403

    client.force_login(applicator.user)
    client.post(address)
    held.refresh_from_db()
    assert held.lifted_by == applicator.user


def test_lifting_twice_keeps_the_first(client, owner, applicator, held, on_monday):
    address = reverse("services:lift_hold", args=[held.pk])
    for user in (owner, applicator.user):
        client.force_login(user)
        client.post(address)

    held.refresh_from_db()
    assert held.lifted_by == owner


def test_ending_a_course_says_what_is_cancelled_and_keeps_what_was_made(office, course, done_visit):
    address = reverse("services:end_course", args=[course.pk])
    page = office.get(address).content.decode()
    office.post(address, {"outcome": "worked", "note": "clean"})

    course.refresh_from_db()
    assert "2 visits that are still to be made are cancelled" in page
    assert course.outcome == "worked"
    assert sorted(course.visits.values_list("state", flat=True)) == [
        "CANCELLED",
        "CANCELLED",
        "COMPLETED",
    ]


def test_a_course_ends_once_and_with_an_outcome(office, course):
    address = reverse("services:end_course", args=[course.pk])

    assert office.post(address, {"outcome": ""}).status_code == 422

    office.post(address, {"outcome": "worked"})
    office.post(address, {"outcome": "failed"})
    course.refresh_from_db()
    assert course.outcome == "worked"


@pytest.mark.parametrize("name", ["course", "end_course"])
def test_courses_are_for_the_staff(client, technician, inspector, course, name):
    address = reverse(f"services:{name}", args=[course.pk])

    assert client.get(address).url.startswith("/accounts/login/")
    for user in (technician, inspector):
        client.force_login(user)
        assert client.get(address).status_code == 403


def test_a_crew_member_with_a_certificate_ends_what_the_crew_works_on(
    client, applicator, dispatched, course, on_monday
):
    assert Technician.objects.get(user=applicator.user).crew == dispatched.dispatch.crew
    client.force_login(applicator.user)

    assert client.get(reverse("services:end_course", args=[course.pk])).status_code == 200


def test_an_unknown_course_or_visit_is_not_found(office):
    for name in ("course", "end_course", "move_visit", "hold_visit"):
        assert office.get(reverse(f"services:{name}", args=[9999])).status_code == 404


def test_the_page_takes_as_many_queries_for_a_longer_course(
    queries_of, course, done_visit, rotation, on_monday
):
    address = reverse("services:course", args=[course.pk])
    first = queries_of(address)
    fourth = rotation.weeks.create(week=4, step="watch", purpose="count")
    Visit.objects.create(
        course=course, rotation_week=fourth, earliest=MONDAY, planned=MONDAY, latest=MONDAY
    )

    assert queries_of(address) == first


def test_of_many_plantings_the_first_are_offered_and_those_that_were_chosen(
    client, owner, choice, rose_bed
):
    told = {
        field.attname: field.value_from_object(rose_bed)
        for field in Planting._meta.concrete_fields
        if field.attname not in {"id", "name"}
    }
    Planting.objects.bulk_create(
        Planting(**told, name=f"Aspen {number:03}") for number in range(MOST_OFFERED)
    )
    client.force_login(owner)

    fresh = client.get(NEW).content.decode()
    looked = client.post(NEW, choice)

    ticked = f'value="{rose_bed.pk}"'
    assert fresh.count("Aspen ") == MOST_OFFERED
    assert ticked not in fresh.split('name="plantings"', 1)[1]
    assert "look for others by their words" in fresh
    assert looked.status_code == 200
    assert ticked in looked.content.decode().split('name="plantings"', 1)[1]

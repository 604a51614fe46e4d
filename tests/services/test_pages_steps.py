"""The mildest steps, planned as visits of their own."""

from datetime import date

import pytest
from django.core.exceptions import ValidationError
from django.urls import reverse

from services.courses import take_step
from services.models import Course, Visit
from treatments.models import Rotation

MONDAY = date(2026, 7, 6)


@pytest.fixture
def address(rose_bed, spider_mite):
    """The address of a step on the rose bed."""
    return reverse("services:take_step", args=[rose_bed.pk, spider_mite.pk])


def step_on(planting, pest, by, step="wash"):
    return take_step(planting=planting, pest=pest, step=step, day=MONDAY, by=by, today=MONDAY)


def test_a_step_without_a_spray_stands_in_the_week_as_a_visit(
    client, owner, address, business, on_monday
):
    client.force_login(owner)

    answer = client.post(address, {"step": "wash", "day": "2026-07-06"})

    visit = Visit.objects.get()
    assert answer.url == reverse("services:course", args=[visit.course_id])
    assert visit.planned == MONDAY
    assert visit.rotation_week.step == "wash"


def test_the_same_step_twice_is_planned_once(rose_bed, spider_mite, owner, business):
    first = step_on(rose_bed, spider_mite, owner)
    again = step_on(rose_bed, spider_mite, owner)

    assert first == again
    assert Visit.objects.count() == 1


def test_another_planting_takes_the_same_step_by_the_same_rotation(
    rose_bed, spider_mite, owner, second_course, business
):
    step_on(rose_bed, spider_mite, owner)
    step_on(second_course.plantings.get(), spider_mite, owner)

    assert Rotation.objects.filter(weeks__step="wash").count() == 1


def test_a_spray_is_no_step_of_this_kind(rose_bed, spider_mite, owner, business):
    with pytest.raises(ValidationError, match="planned with a rotation"):
        step_on(rose_bed, spider_mite, owner, step="spray")

    assert not Course.objects.exists()


def test_a_step_in_the_past_is_refused_on_the_page(client, owner, address, business, on_monday):
    client.force_login(owner)

    answer = client.post(address, {"step": "wash", "day": "2026-07-05"})

    assert answer.status_code == 422
    assert "begins today or later" in answer.content.decode()

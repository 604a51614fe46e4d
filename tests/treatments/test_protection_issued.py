"""Fit tests and protective equipment of a person, and what a morning's mail says of them."""

from datetime import date

import pytest
from django.urls import reverse

from treatments.lapsing import fit_tests_lapsing, protection_overdue, trainings_lapsing
from treatments.models import FitTest, ProtectionIssued

TESTED = date(2026, 3, 2)


@pytest.fixture
def fit_test(applicator, owner):
    return FitTest.objects.create(
        applicator=applicator,
        respirator="half mask, M, TC-84A-0000",
        tested_on=TESTED,
        way=FitTest.Way.QUALITATIVE,
        passed=True,
        entered_by=owner,
    )


def test_a_fit_test_holds_a_year(fit_test):
    # at least annually [29CFR1910-134], from memory
    assert fit_test.holds_until() == date(2027, 3, 2)


def test_one_that_failed_holds_not_a_day(fit_test):
    fit_test.passed = False

    assert fit_test.holds_until() is None


@pytest.mark.parametrize(
    ("today", "words"),
    [
        pytest.param(date(2026, 12, 31), None, id="61 days before"),
        pytest.param(date(2027, 1, 1), "lapses in 60 days", id="60 days before"),
        pytest.param(date(2027, 3, 2), "lapses today", id="its last day"),
        pytest.param(date(2027, 3, 3), "lapsed", id="the day after"),
    ],
)
def test_it_is_spoken_of_from_sixty_days_before(fit_test, today, words):
    # 60, 30 and 7 days: common practice
    assert [told for _test, _until, told in fit_tests_lapsing(today)] == ([words] if words else [])


def test_a_newer_test_of_the_same_respirator_takes_its_place(fit_test, owner):
    FitTest.objects.create(
        applicator=fit_test.applicator,
        respirator="Half mask, M, TC-84A-0000",
        tested_on=date(2027, 2, 1),
        way=FitTest.Way.QUANTITATIVE,
        passed=True,
        entered_by=owner,
    )

    assert not list(fit_tests_lapsing(date(2027, 3, 3)))


def test_a_training_of_twelve_months_is_spoken_of(technician, applicator):
    applicator.trained_on = date(2025, 8, 1)
    applicator.save()

    ((who, until, words),) = trainings_lapsing(date(2026, 7, 25))
    assert (who, until, words) == (applicator, date(2026, 8, 1), "lapses in 7 days")


def test_the_office_hands_out_and_takes_back(client, dispatcher, applicator):
    client.force_login(dispatcher)
    url = reverse("treatments:new_protection", args=[applicator.pk])
    typed = {"item": "nitrile gloves", "pieces": "2", "issued_on": "2026-05-04"}

    assert client.post(url, typed | {"pieces": "0"}).status_code == 422
    assert client.post(url, typed | {"returned_on": "2026-05-01"}).status_code == 422
    assert client.post(url, typed | {"replace_by": "2026-06-01"}).status_code == 302

    issued = ProtectionIssued.objects.get()
    assert list(protection_overdue(date(2026, 6, 2))) == [issued]
    edit = reverse("treatments:edit_protection", args=[applicator.pk, issued.pk])
    client.post(edit, typed | {"returned_on": "2026-06-01"})
    assert not list(protection_overdue(date(2026, 6, 2)))
    page = client.get(reverse("treatments:applicator", args=[applicator.pk])).content.decode()
    assert "nitrile gloves" in page


def test_a_fit_test_is_noted_on_the_persons_page(client, dispatcher, applicator):
    client.force_login(dispatcher)
    url = reverse("treatments:new_fit_test", args=[applicator.pk])
    typed = {"respirator": "half mask", "tested_on": "2026-05-04", "way": "qualitative"}

    client.post(url, typed | {"passed": "on"})

    page = client.get(reverse("treatments:applicator", args=[applicator.pk])).content.decode()
    assert "half mask" in page
    assert FitTest.objects.get().entered_by == dispatcher


def test_a_fit_test_tells_what_its_approval_covers(client, dispatcher, fit_test):
    client.force_login(dispatcher)
    address = reverse("treatments:applicator", args=[fit_test.applicator.pk])

    page = client.get(address).content.decode()

    # [PRN-98-9] a mask with filter and a cartridge combined with a filter stand under one prefix
    assert "TC-84A covers: particulate facepiece, or mask with filter" in page
    assert "Look at the parts, not at the prefix." in page


def test_another_persons_things_are_not_found_under_this_one(client, owner, fit_test, applicator):
    client.force_login(owner)
    elsewhere = reverse("treatments:edit_fit_test", args=[applicator.pk + 1, fit_test.pk])

    assert client.get(elsewhere).status_code == 404

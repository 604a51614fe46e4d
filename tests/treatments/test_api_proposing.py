"""Rotations proposed to programs."""

from datetime import UTC, datetime

import pytest
import time_machine

from tests.shelf import keep_shelf
from treatments.models import Rotation

ADDRESS = "/api/v1/rotations/propose/"


@pytest.fixture(autouse=True)
def july():
    """Stop the clock on a Thursday in July."""
    with time_machine.travel(datetime(2026, 7, 2, 14, tzinfo=UTC), tick=False):
        yield


@pytest.fixture
def shelf(owner):
    """An oil and four miticides in the store."""
    return keep_shelf(owner)


@pytest.fixture
def told(rose_bed, spider_mite, applicator):
    """What a program asks for."""
    return {
        "plantings": [rose_bed.pk],
        "pest": spider_mite.pk,
        "first_day": "2026-07-06",
        "weeks": 6,
        "nights_f": "68",
        "afternoons_f": "68",
    }


def test_three_rotations_come_with_their_weeks_and_nothing_is_kept(api, dispatcher, told, shelf):
    api.force_authenticate(dispatcher)

    answer = api.post(ADDRESS, told, format="json")

    assert answer.status_code == 200
    assert len(answer.data["plans"]) == 3
    assert [week["day"] for week in answer.data["plans"][0]["weeks"]][:2] == [
        "2026-07-06",
        "2026-07-13",
    ]
    assert answer.data["egg_reach_days"] == 15
    assert not Rotation.objects.exists()


def test_prices_are_for_owner_and_office_alone(api, dispatcher, applicator, told, shelf):
    answers = {}
    for person in (dispatcher, applicator.user):
        api.force_authenticate(person)
        answers[person] = api.post(ADDRESS, told, format="json").data["plans"][0]

    office, field = answers.values()
    assert all(each["cost_usd"] is not None for each in (office, *office["weeks"]))
    assert all(each["cost_usd"] is None for each in (field, *field["weeks"]))


def test_a_technician_is_refused(api, technician, told):
    api.force_authenticate(technician)

    assert api.post(ADDRESS, told, format="json").status_code == 403


def test_a_proposal_can_be_kept_as_it_was_told(api, owner, told, shelf):
    api.force_authenticate(owner)
    best = api.post(ADDRESS, told, format="json").data["plans"][0]
    rotation = {
        "name": "Mites in July",
        "pest": told["pest"],
        "plant_group": "rose",
        "first_day": told["first_day"],
        "plantings": told["plantings"],
        "weeks": best["rotation_weeks"],
    }

    assert api.post("/api/v1/rotations/", rotation, format="json").status_code == 201


def test_fixed_weeks_and_reasons_are_told(api, owner, told, shelf):
    api.force_authenticate(owner)
    oil = shelf["Still Oil"].pk
    pins = [{"week": 1, "product": oil}, {"week": 3, "product": None}]

    told = told | {"pins": pins, "why_weeks": [2]}
    plan = api.post(ADDRESS, told, format="json").data["plans"][0]

    assert [week["product"] for week in plan["weeks"]][0:3:2] == [oil, None]
    assert {reason["week"] for reason in plan["why_not"]} == {2}
    assert len(plan["why_not"]) == len(shelf) - 1


def test_a_conflict_names_rules_and_what_frees(api, owner, told, rose_bed, shelf):
    api.force_authenticate(owner)
    rose_bed.drought_stressed = True
    rose_bed.save()
    wishes = {"organic_only": True, "without_warnings": True}

    told = told | {"weeks": 4, "wishes": wishes}
    conflict = api.post(ADDRESS, told, format="json").data["conflict"]

    assert "organic wish" in conflict["rules"]
    assert ["organic wish"] in conflict["freed_by"]


@pytest.mark.parametrize("given_up", ["label", "totals", "certificate"])
def test_what_binds_cannot_be_given_up(api, owner, told, shelf, given_up):
    api.force_authenticate(owner)

    answer = api.post(ADDRESS, told | {"wishes": {"given_up": [given_up]}}, format="json")

    assert answer.status_code == 400


@pytest.mark.parametrize("wrong", [{"weeks": 27}, {"plantings": []}, {"nights_f": None}])
def test_wrong_input_is_refused(api, owner, told, shelf, wrong):
    api.force_authenticate(owner)

    assert api.post(ADDRESS, told | wrong, format="json").status_code == 400


def test_without_products_that_is_said(api, owner, told):
    api.force_authenticate(owner)

    assert api.post(ADDRESS, told, format="json").status_code == 400


def test_the_table_of_products_and_weeks_is_told_where_it_is_asked(api, owner, told, shelf):
    api.force_authenticate(owner)

    plain = api.post(ADDRESS, told, format="json").data["plans"][0]
    plan = api.post(ADDRESS, told | {"with_table": True}, format="json").data["plans"][0]

    assert plain["table"] == []
    assert {row["name"] for row in plan["table"]} == set(shelf)
    assert all(
        [cell["week"] for cell in row["weeks"]] == list(range(1, 7)) for row in plan["table"]
    )
    cells = [cell for row in plan["table"] for cell in row["weeks"]]
    assert sum(cell["stands"] == "proposed" for cell in cells) == 6
    assert all(cell["findings"] for cell in cells if cell["stands"] in ("kept out", "other weeks"))


def test_an_own_rate_is_told_with_its_reason(api, owner, told, shelf):
    api.force_authenticate(owner)
    oil = shelf["Still Oil"].pk
    told = told | {
        "pins": [{"week": 1, "product": oil}],
        "own_rates": [{"product": oil, "rate": "1.25"}],
    }

    week = api.post(ADDRESS, told, format="json").data["plans"][0]["weeks"][0]

    assert (week["rate"], week["rate_reason"]["code"]) == ("1.250", "rate-own")

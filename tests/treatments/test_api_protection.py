"""Equipment, fit tests and spills through the API."""

from datetime import UTC, datetime

import pytest
import time_machine
from rest_framework.test import APIClient

from treatments.models import FitTest, LeftoverNote, SpillNote

FORM = "01900000-0000-7000-8000-000000000002"


@pytest.fixture
def api(owner):
    browser = APIClient()
    browser.force_authenticate(owner)
    with time_machine.travel(datetime(2026, 7, 7, 14, tzinfo=UTC), tick=False):
        yield browser


def test_equipment_goes_out_and_comes_back(api, applicator):
    told = {"applicator": applicator.pk, "item": "gloves", "issued_on": "2026-07-01"}
    made = api.post("/api/v1/protection/", told, format="json")

    assert made.status_code == 201, made.json()
    back = api.patch(
        f"/api/v1/protection/{made.json()['id']}/", {"returned_on": "2026-06-30"}, format="json"
    )
    assert back.status_code == 400


def test_a_fit_test_says_until_when_it_holds(api, applicator, owner):
    told = {
        "applicator": applicator.pk,
        "respirator": "half mask",
        "tested_on": "2026-03-02",
        "way": "qualitative",
        "passed": True,
    }
    made = api.post("/api/v1/fit-tests/", told, format="json")

    # a year, at least annually [29CFR1910-134], from memory
    assert made.json()["holds_until"] == "2027-03-02"
    assert FitTest.objects.get().entered_by == owner


@pytest.fixture
def spill(soap, soap_lot):
    return {
        "happened_at": "2026-07-07T12:00:00Z",
        "place": "Yard",
        "product": soap.pk,
        "what": "concentrate",
        "lot": soap_lot.pk,
        "amount": "16",
        "done": "Taken up.",
    }


def test_a_spill_is_noted_and_never_changed(api, spill, soap_lot):
    before = soap_lot.left()

    made = api.post("/api/v1/spills/", spill, format="json")

    assert made.status_code == 201, made.json()
    assert soap_lot.left() == before - 16
    one = f"/api/v1/spills/{SpillNote.objects.get().pk}/"
    assert api.patch(one, {"done": "Nothing."}, format="json").status_code == 405
    wrong = api.post("/api/v1/spills/", spill | {"what": "mix"}, format="json")
    assert wrong.status_code == 400
    assert "lot" in wrong.json()["errors"]


def test_a_spill_that_is_sent_twice_is_noted_once(api, spill, soap_lot):
    before = soap_lot.left()

    first, again = (
        api.post("/api/v1/spills/", spill | {"form_id": FORM}, format="json") for _time in range(2)
    )

    assert (first.status_code, again.status_code) == (201, 201)
    assert again.json() == first.json()
    assert soap_lot.left() == before - 16


def test_a_form_id_of_somebody_else_is_refused_and_tells_nothing(api, spill, soap_lot, dispatcher):
    spill |= {"form_id": FORM}
    api.post("/api/v1/spills/", spill, format="json")
    before = soap_lot.left()
    api.force_authenticate(dispatcher)

    answer = api.post("/api/v1/spills/", spill, format="json")

    assert answer.status_code == 400
    assert "used for something else" in answer.content.decode()
    assert soap_lot.left() == before


def test_a_leftover_that_is_sent_twice_is_noted_once(api, soap):
    rinse = {
        "kind": "tank rinse",
        "product": soap.pk,
        "gallons": "1.50",
        "done": "sprayed over",
        "note": "rose bed",
        "happened_on": "2026-07-07",
        "form_id": FORM,
    }

    first, again = (api.post("/api/v1/leftovers/", rinse, format="json") for _time in range(2))

    assert (first.status_code, again.status_code) == (201, 201)
    assert again.json() == first.json()
    assert LeftoverNote.objects.count() == 1

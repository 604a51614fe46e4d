"""Equipment, fit tests and spills through the API."""

from datetime import UTC, datetime

import pytest
import time_machine
from rest_framework.test import APIClient

from treatments.models import FitTest, SpillNote


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


def test_a_spill_is_noted_and_never_changed(api, soap, soap_lot):
    told = {
        "happened_at": "2026-07-07T12:00:00Z",
        "place": "Yard",
        "product": soap.pk,
        "what": "concentrate",
        "lot": soap_lot.pk,
        "amount": "16",
        "done": "Taken up.",
    }
    before = soap_lot.left()

    made = api.post("/api/v1/spills/", told, format="json")

    assert made.status_code == 201, made.json()
    assert soap_lot.left() == before - 16
    one = f"/api/v1/spills/{SpillNote.objects.get().pk}/"
    assert api.patch(one, {"done": "Nothing."}, format="json").status_code == 405
    wrong = api.post("/api/v1/spills/", told | {"what": "mix"}, format="json")
    assert wrong.status_code == 400
    assert "lot" in wrong.json()["errors"]

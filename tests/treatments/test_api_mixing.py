"""Mixes, calibrations and tests with water through the API."""

from decimal import Decimal

import pytest

from clients.access import Reach
from treatments.models import Calibration, WaterTest


@pytest.fixture
def asked(rose_bed, soap, sprayer):
    return {
        "planting": rose_bed.pk,
        "product": soap.pk,
        "rate": "3",
        "basis": "fl oz/gal",
        "sprayer": sprayer.pk,
    }


@pytest.fixture
def timed(sprayer, applicator):
    return {
        "sprayer": sprayer.pk,
        "person": applicator.pk,
        "nozzle": "gun",
        "method": "timed 1,000 sq ft",
        "readings": {"seconds": ["77", "79", "78"], "caught_gallons": ["5.25"]},
        "calibrated_on": "2026-03-01",
    }


def test_a_mix_is_told_with_exact_and_measured_amounts(api, dispatcher, asked):
    api.force_authenticate(dispatcher)

    told = api.post("/api/v1/mix/", asked).data

    assert told["may_mix"] is True
    assert told["total_measured"] == {"amount": "9", "unit": "fl oz"}
    portion = told["tanks"][0]["portions"][0]
    assert portion["label_most"] == {"amount": "15", "unit": "fl oz"}
    assert portion["error_percent"] == "0"


def test_a_refused_mix_tells_no_amount(api, dispatcher, asked):
    api.force_authenticate(dispatcher)

    told = api.post("/api/v1/mix/", asked | {"rate": "6"}).data

    assert told["may_mix"] is False
    assert told["tanks"] == []
    assert told["total_exact"] is None
    assert "above the label" in told["problem"]


def test_a_dial_is_told_downwards(api, dispatcher, asked):
    api.force_authenticate(dispatcher)
    hose = asked | {"settings": ["1", "2.5", "4"], "flow_gal_per_min": "3.75", "minutes": "4"}

    told = api.post("/api/v1/mix/hose-end/", hose).data

    assert (told["dial_needed"], told["dial_to_set"]) == ("3", "2.5")
    assert told["concentrate_fl_oz"] == "37.5"
    assert told["cautions"][0]["code"] == "back-siphonage"


def test_a_mix_needs_a_place(api, dispatcher, asked):
    api.force_authenticate(dispatcher)
    del asked["planting"]

    answer = api.post("/api/v1/mix/", asked)

    assert answer.status_code == 400
    assert "plant_group" in answer.data["errors"]


def test_a_technician_mixes_within_reach_and_an_inspector_not(
    api, technician, inspector, asked, rose_bed, monkeypatch
):
    api.force_authenticate(technician)
    assert api.post("/api/v1/mix/", asked).status_code == 400

    monkeypatch.setattr(Reach, "properties_of", lambda user: [rose_bed.property_id])

    assert api.post("/api/v1/mix/", asked).status_code == 200
    api.force_authenticate(inspector)
    assert api.post("/api/v1/mix/", asked).status_code == 403


def test_a_calibration_is_worked_out_here(api, owner, timed):
    # 78 seconds on the mean, 5.25 gallons on 1,000 square feet [PES-SPRAY-GUN]
    api.force_authenticate(owner)

    made = api.post("/api/v1/calibrations/", timed | {"gallons_per_1000_sq_ft": "99"})

    assert made.status_code == 201
    assert made.data["gallons_per_1000_sq_ft"] == "5.250"
    assert made.data["expires_on"] == "2027-03-01"
    assert Calibration.objects.get().readings[0]["values"] == ["77", "79", "78"]


@pytest.mark.parametrize(
    "readings",
    [
        {"seconds": ["77", "79"], "caught_gallons": ["5.25"]},
        {"seconds": ["77", "79", "x"], "caught_gallons": ["5.25"]},
        {"seconds": ["77", "79", "0"], "caught_gallons": ["5.25"]},
        {"seconds": "77", "caught_gallons": ["5.25"]},
        {"seconds": ["77", "79", "78"], "caught_gallons": ["5.25"], "steps": "12"},
        {"seconds": ["77", "79", "78"], "caught_gallons": ["5"], "nozzle_catches": ["9", "12"]},
        {},
        [],
    ],
)
def test_readings_that_do_not_suffice_are_refused(api, owner, timed, readings):
    api.force_authenticate(owner)

    answer = api.post("/api/v1/calibrations/", timed | {"readings": readings})

    assert answer.status_code == 400
    assert not Calibration.objects.exists()


def test_only_the_certified_keep_a_calibration(api, dispatcher, timed):
    api.force_authenticate(dispatcher)

    assert api.post("/api/v1/calibrations/", timed).status_code == 403


def test_a_test_with_water_is_kept_within_reach(api, technician, rose_bed, monkeypatch):
    test = {
        "planting": rose_bed.pk,
        "tested_on": "2026-07-06",
        "plants_tested": 1,
        "water_amount": "2",
        "water_unit": "qt",
    }
    api.force_authenticate(technician)
    assert api.post("/api/v1/water-tests/", test).status_code == 400
    monkeypatch.setattr(Reach, "properties_of", lambda user: [rose_bed.property_id])

    made = api.post("/api/v1/water-tests/", test)
    again = api.post("/api/v1/water-tests/", test)

    assert (made.status_code, again.status_code) == (201, 201)
    assert Decimal(made.data["planting_gallons"]) == 20  # 40 plants at half a gallon
    assert WaterTest.objects.count() == 1


def test_a_test_on_nothing_is_refused(api, dispatcher, rose_bed):
    api.force_authenticate(dispatcher)
    test = {"planting": rose_bed.pk, "tested_on": "2026-07-06", "water_amount": "2"}

    assert api.post("/api/v1/water-tests/", test).status_code == 400

"""Calibrations kept by their readings."""

from datetime import date
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from treatments.calibrating import WORKSHEETS, keep_calibration, work_out
from treatments.models import Calibration

TIMED = {"seconds": [77, 79, 78], "caught_gallons": [Decimal("5.25")]}  # [PES-SPRAY-GUN]


@pytest.fixture
def told(sprayer, applicator):
    return {
        "sprayer": sprayer,
        "person": applicator,
        "nozzle": "gun, disc 4",
        "method": "timed 1,000 sq ft",
        "readings": TIMED,
        "calibrated_on": date(2026, 3, 1),
    }


def test_what_it_comes_to_is_kept_with_its_readings(told):
    kept = keep_calibration(**told)

    assert kept.gallons_per_1000_sq_ft == Decimal("5.25")
    assert kept.readings[0] == {"name": "seconds", "values": ["77", "79", "78"], "unit": "s"}


def test_it_holds_for_a_year(told):
    assert keep_calibration(**told).expires_on == date(2027, 3, 1)  # yearly [MSU-MT200914AG]


@pytest.mark.parametrize(
    ("until", "refused"),
    [(date(2026, 9, 1), False), (date(2027, 3, 1), False), (date(2027, 3, 2), True)],
)
def test_it_may_hold_for_less_and_never_for_more(told, until, refused):
    if refused:
        with pytest.raises(ValidationError, match="a year at most"):
            keep_calibration(**told, expires_on=until)
    else:
        assert keep_calibration(**told, expires_on=until).expires_on == until


def test_the_same_calibration_told_twice_is_kept_once(told):
    first, again = keep_calibration(**told), keep_calibration(**told)

    assert first == again
    assert Calibration.objects.count() == 1


def test_two_runs_are_refused_with_a_sentence(told):
    told["readings"] = TIMED | {"seconds": [77, 79]}

    with pytest.raises(ValidationError) as refused:
        keep_calibration(**told)

    assert refused.value.message_dict == {
        "seconds": ["Measure at least 3 times; there are 2 readings."]
    }


@pytest.mark.parametrize(
    ("catches", "new", "code"),
    [
        ([100, 105], 100, None),
        ([100, 106], 100, "nozzle-wearing"),
        ([100, 110], 100, "nozzle-wearing"),
    ],
)
def test_a_nozzle_within_ten_per_cent_does_not_stop_it(told, catches, new, code):
    told["readings"] = TIMED | {"nozzle_catches": catches, "new_nozzle": new}

    codes = [finding.code for finding in work_out(told["method"], told["readings"]).findings]

    assert codes == ([code] if code else [])
    assert keep_calibration(**told).pk


def test_a_worn_nozzle_stops_it(told):
    told["readings"] = TIMED | {"nozzle_catches": [100, 111], "new_nozzle": 100}

    with pytest.raises(ValidationError, match="Replace the nozzle"):
        keep_calibration(**told)

    assert not Calibration.objects.exists()


def test_a_day_that_has_not_come_is_refused(told):
    with pytest.raises(ValidationError, match="has not come"):
        keep_calibration(**told | {"calibrated_on": date(2999, 1, 1)})


def test_every_worksheet_names_what_it_needs():
    for sheet in WORKSHEETS.values():
        with pytest.raises(ValidationError) as refused:
            work_out(sheet.method, {})

        needed = {each.name for each in sheet.readings if each.fewest}
        assert set(refused.value.message_dict) == needed

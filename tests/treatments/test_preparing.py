"""Which calibration holds for a person, and which sprayer takes a planting."""

from datetime import date
from decimal import Decimal

import pytest

from treatments.models import Applicator, Calibration, Sprayer
from treatments.preparing import output_of, sprayer_that_fits

DAY = date(2026, 7, 6)


def test_the_persons_own_calibration_goes_before_anybodys(sprayer, calibration, applicator):
    anybodys = Calibration.objects.create(
        sprayer=sprayer,
        nozzle="fan",
        method="refill",
        gallons_per_1000_sq_ft=Decimal(4),
        calibrated_on=date(2026, 6, 1),
        expires_on=date(2027, 6, 1),
    )

    assert output_of(sprayer, applicator, DAY) == calibration
    assert output_of(sprayer, Applicator.objects.create(name="Other"), DAY) == anybodys


def test_what_another_person_puts_out_is_no_calibration(sprayer, calibration):
    assert output_of(sprayer, Applicator.objects.create(name="Other"), DAY) is None


@pytest.mark.parametrize(
    ("day", "holds"),
    [
        (date(2026, 2, 28), False),
        (date(2026, 3, 1), True),
        (date(2027, 3, 1), True),
        (date(2027, 3, 2), False),
    ],
)
def test_a_calibration_holds_from_its_day_to_its_last(sprayer, calibration, applicator, day, holds):
    assert (output_of(sprayer, applicator, day) == calibration) is holds


@pytest.fixture
def machines(sprayer):
    gun = Sprayer.objects.create(
        name="Gun", kind="power", tank_gallons=Decimal(50), reach_ft=25, has_agitation=True
    )
    hand = Sprayer.objects.create(name="Hand", kind="hand", tank_gallons=Decimal(1), reach_ft=6)
    return {"hand": hand, "backpack": sprayer, "gun": gun}


@pytest.mark.parametrize(
    ("height", "gallons", "agitation", "fitting"),
    [
        ("6", "1", False, "hand"),
        ("6.1", "1", False, "backpack"),
        ("6", "1.1", False, "backpack"),
        ("8", "5", False, "gun"),
        ("6", "1", True, "gun"),
        ("6", "80", False, "gun"),
        ("25.1", "1", False, None),
    ],
)
def test_the_smallest_tank_that_reaches_and_holds(
    machines, rose_bed, height, gallons, agitation, fitting
):
    rose_bed.height_ft = Decimal(height)

    found = sprayer_that_fits(
        machines.values(), rose_bed, spray_gallons=Decimal(gallons), needs_agitation=agitation
    )

    assert found == machines.get(fitting)


def test_a_sprayer_out_of_use_is_not_taken(sprayer, rose_bed):
    sprayer.retired = True

    assert sprayer_that_fits([sprayer], rose_bed) is None


def test_nobody_in_particular_has_only_anybodys_calibration(sprayer, calibration):
    assert output_of(sprayer, None, DAY) is None

"""Tests with water, and the mix that goes by them."""

from datetime import date
from decimal import Decimal

import pytest
from django.contrib.auth import get_user_model
from django.core.exceptions import ValidationError

from treatments.mixing import share_mix
from treatments.models import RotationWeek, WaterTest
from treatments.rules.mixing import CalibrationMissing
from treatments.water_testing import keep_water_test, latest_test, output_by_test, spray_by_test

DAY = date(2026, 7, 6)


@pytest.fixture
def hedge(rose_bed):
    """The bed as a hedge of 120 by 3 feet, 6 high: faces of 1,800 square feet."""
    rose_bed.habit, rose_bed.plants = "hedge", 40
    rose_bed.length_ft, rose_bed.width_ft, rose_bed.height_ft = Decimal(120), Decimal(3), Decimal(6)
    rose_bed.save()
    return rose_bed


@pytest.fixture
def silent(soap):
    """A label that gives no gallons."""
    soap.rates.update(gallons_per_1000_sq_ft=None)
    return soap


def wet(planting, **told):
    by, _made = get_user_model().objects.get_or_create(username="wetter")
    usual = {"tested_on": DAY, "tested_by": by, "water_amount": Decimal(1), "water_unit": "gal"}
    return keep_water_test(planting=planting, **usual | told)


def test_a_strip_is_scaled_by_its_length(hedge):
    test = wet(hedge, strip_ft=Decimal(24))

    assert spray_by_test(test, hedge) == 5  # a fifth of the hedge took one gallon


def test_plants_are_scaled_by_their_number(rose_bed):
    # 2 quarts a tree, 6 trees: 3 gallons [PES-HOSE-END]
    rose_bed.plants = 6
    test = wet(rose_bed, plants_tested=1, water_amount=Decimal(2), water_unit="qt")

    assert spray_by_test(test, rose_bed) == 3


def test_water_may_be_measured_in_litres(hedge):
    test = wet(hedge, strip_ft=Decimal(24), water_amount=Decimal("3.785"), water_unit="L")

    assert round(spray_by_test(test, hedge), 2) == 5


def test_the_newest_test_counts(hedge):
    wet(hedge, strip_ft=Decimal(24))
    newest = wet(hedge, strip_ft=Decimal(20), tested_on=date(2026, 8, 1))
    wet(hedge, strip_ft=Decimal(22), tested_on=date(2026, 7, 7))

    assert latest_test(hedge) == newest
    assert output_by_test(hedge) == Decimal(6) * 1000 / 1800


def test_the_same_test_told_twice_is_kept_once(hedge):
    assert wet(hedge, strip_ft=Decimal(24)) == wet(hedge, strip_ft=Decimal(24))
    assert WaterTest.objects.count() == 1


@pytest.mark.parametrize(
    "told",
    [
        {},
        {"strip_ft": Decimal(24), "plants_tested": 1},
        {"strip_ft": Decimal("120.1")},
        {"plants_tested": 41},
        {"strip_ft": Decimal(0)},
        {"strip_ft": Decimal(24), "water_amount": Decimal(0)},
    ],
)
def test_a_test_is_on_a_strip_or_on_plants_and_not_on_more_than_there_is(hedge, told):
    with pytest.raises(ValidationError):
        wet(hedge, **told)


@pytest.fixture
def week(silent):
    return RotationWeek(week=1, product=silent, rate=Decimal(3), basis="fl oz/gal")


def test_a_strength_is_mixed_by_the_test_where_nothing_else_tells(
    week, hedge, sprayer, spider_mite
):
    with pytest.raises(CalibrationMissing):
        share_mix(week, [hedge], sprayer=sprayer, calibration=None, pest=spider_mite)
    wet(hedge, strip_ft=Decimal(24))

    mix = share_mix(week, [hedge], sprayer=sprayer, calibration=None, pest=spider_mite)

    assert round(mix.spray_gallons(), 6) == 5
    assert [round(tank.gallons, 6) for tank in mix.tanks()] == [4, 1]


def test_a_calibration_goes_before_the_test(week, hedge, sprayer, calibration, spider_mite):
    wet(hedge, strip_ft=Decimal(24))

    mix = share_mix(week, [hedge], sprayer=sprayer, calibration=calibration, pest=spider_mite)

    assert mix.spray_gallons() == 9  # 1,800 square feet at 5 gallons


def test_a_dose_on_the_ground_is_not_mixed_by_a_test(week, silent, hedge, sprayer, spider_mite):
    silent.rates.update(basis="fl oz/1000 ft2")
    week.basis = "fl oz/1000 ft2"
    wet(hedge, strip_ft=Decimal(24))

    with pytest.raises(CalibrationMissing):
        share_mix(week, [hedge], sprayer=sprayer, calibration=None, pest=spider_mite)

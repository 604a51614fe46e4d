"""What goes into the tank for a week, and which sprayer takes it."""

from datetime import date
from decimal import Decimal

import pytest

from treatments.models import Applicator, Calibration, Product, RotationWeek, Sprayer
from treatments.preparing import (
    NothingToMix,
    RateNotOnLabel,
    measured_words,
    mix_for,
    output_of,
    sprayer_that_fits,
)
from treatments.rules.mixing import CalibrationMissing, RateAboveLabel

DAY = date(2026, 7, 6)


@pytest.fixture
def week(soap):
    return RotationWeek(week=1, product=soap, rate=Decimal(3), basis="fl oz/gal")


def test_a_bed_takes_the_labels_gallons_and_its_tanks(
    week, rose_bed, sprayer, calibration, spider_mite
):
    # 600 sq ft at 5 gal for 1,000 are 3 gal; 3 fl oz/gal make 9 fl oz
    mix = mix_for(week, rose_bed, sprayer=sprayer, calibration=calibration, pest=spider_mite)

    assert mix.spray_gallons == 3
    assert str(mix.total_from_store) == "9 fl oz"
    assert [tank.gallons for tank in mix.tanks] == [3]


def test_without_the_labels_gallons_the_calibration_decides(
    week, soap, rose_bed, sprayer, calibration, spider_mite
):
    soap.rates.update(gallons_per_1000_sq_ft=None)
    calibration.gallons_per_1000_sq_ft = Decimal(10)

    mix = mix_for(week, rose_bed, sprayer=sprayer, calibration=calibration, pest=spider_mite)

    # 6 gal in a tank of 4: one full, one of 2
    assert [tank.gallons for tank in mix.tanks] == [4, 2]


def test_without_either_nobody_can_mix(week, soap, rose_bed, sprayer, spider_mite):
    soap.rates.update(gallons_per_1000_sq_ft=None)

    with pytest.raises(CalibrationMissing):
        mix_for(week, rose_bed, sprayer=sprayer, calibration=None, pest=spider_mite)


@pytest.mark.parametrize(("rate", "refused"), [("5", False), ("5.001", True)])
def test_the_labels_highest_rate_is_never_passed(
    week, rose_bed, sprayer, spider_mite, rate, refused
):
    week.rate = Decimal(rate)

    if refused:
        with pytest.raises(RateAboveLabel):
            mix_for(week, rose_bed, sprayer=sprayer, calibration=None, pest=spider_mite)
    else:
        assert mix_for(week, rose_bed, sprayer=sprayer, calibration=None, pest=spider_mite).tanks


def test_a_rate_for_this_pest_goes_before_the_general_one(
    week, soap, rose_bed, sprayer, spider_mite
):
    soap.rates.create(plant_group="rose", pest=spider_mite, minimum=1, maximum=2, basis="fl oz/gal")

    with pytest.raises(RateAboveLabel):
        mix_for(week, rose_bed, sprayer=sprayer, calibration=None, pest=spider_mite)


def test_the_most_an_application_may_carry_binds_the_mix(
    week, soap, rose_bed, sprayer, spider_mite
):
    soap.maximum_amount_per_application = Decimal(14)  # 3 fl oz/gal at 5 gal are 15 on 1,000
    soap.amount_basis = "fl oz/1000 ft2"

    mix = mix_for(week, rose_bed, sprayer=sprayer, calibration=None, pest=spider_mite)

    assert "limit-passed" in {finding.code for finding in mix.findings}


def test_a_spreader_goes_in_beside_the_product(week, rose_bed, sprayer, spider_mite):
    week.adjuvant = Product.objects.create(name="Spread", kind="adjuvant")
    week.adjuvant_rate = Decimal("0.5")

    mix = mix_for(week, rose_bed, sprayer=sprayer, calibration=None, pest=spider_mite)

    assert str(mix.tanks[0].adjuvants[0].measured) == "1.5 fl oz"


def test_the_mix_is_told_in_what_a_crew_measures(week, rose_bed, sprayer, spider_mite):
    rose_bed.measured_area_sq_ft = Decimal(2200)  # 11 gal: two full tanks and 3 gal

    mix = mix_for(week, rose_bed, sprayer=sprayer, calibration=None, pest=spider_mite)

    assert measured_words(mix) == [
        "2 tanks of 4 gal, each with 3.91 gal of water:",
        "12 fl oz of Quiet Soap, measured with the jug",
        "1 tank of 3 gal, with 2.93 gal of water:",
        "9 fl oz of Quiet Soap, measured with the jug",
    ]


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


def test_a_step_without_a_spray_has_nothing_to_mix(rose_bed, sprayer, spider_mite):
    wash = RotationWeek(week=2, step="wash")

    with pytest.raises(NothingToMix, match="Week 2"):
        mix_for(wash, rose_bed, sprayer=sprayer, calibration=None, pest=spider_mite)


@pytest.mark.parametrize(
    "columns", [{"plant_group": "lawn"}, {"basis": "fl oz/1000 ft2"}, {"basis": "% v/v"}]
)
def test_where_the_label_gives_no_rate_nothing_is_mixed(
    week, soap, rose_bed, sprayer, spider_mite, columns
):
    soap.rates.update(**columns)

    with pytest.raises(RateNotOnLabel, match="gives no rate in fl oz/gal for roses"):
        mix_for(week, rose_bed, sprayer=sprayer, calibration=None, pest=spider_mite)

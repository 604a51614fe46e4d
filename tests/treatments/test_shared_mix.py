"""The mix of a week for plantings that are treated together: shared tanks, the strictest label."""

from decimal import Decimal

import pytest

from treatments.mixing import NoPlanting, share_mix, spray_for_each
from treatments.models import Product, RotationWeek, WaterTest
from treatments.models.rotations import NothingToMix
from treatments.preparing import RateNotOnLabel
from treatments.rules.mixing import CalibrationMissing, RateAboveLabel
from treatments.rules.units import UnitMismatch


@pytest.fixture
def week(soap):
    return RotationWeek(week=1, product=soap, rate=Decimal(3), basis="fl oz/gal")


def test_a_bed_takes_the_labels_gallons_and_its_tanks(
    week, rose_bed, sprayer, calibration, spider_mite
):
    # 600 sq ft at 5 gal for 1,000 are 3 gal; 3 fl oz/gal make 9 fl oz
    mix = share_mix(week, [rose_bed], pest=spider_mite, sprayer=sprayer, calibration=calibration)

    assert mix.spray_gallons() == 3
    assert str(mix.product) == "9 fl oz"
    assert [tank.gallons for tank in mix.tanks()] == [3]


def test_without_the_labels_gallons_the_calibration_decides(
    week, soap, rose_bed, sprayer, calibration, spider_mite
):
    soap.rates.update(gallons_per_1000_sq_ft=None)
    calibration.gallons_per_1000_sq_ft = Decimal(10)

    mix = share_mix(week, [rose_bed], pest=spider_mite, sprayer=sprayer, calibration=calibration)

    # 6 gal in a tank of 4: one full, one of 2
    assert [tank.gallons for tank in mix.tanks()] == [4, 2]


def test_without_either_nobody_can_mix(week, soap, rose_bed, sprayer, spider_mite):
    soap.rates.update(gallons_per_1000_sq_ft=None)

    with pytest.raises(CalibrationMissing):
        share_mix(week, [rose_bed], pest=spider_mite, sprayer=sprayer, calibration=None)


@pytest.mark.parametrize(("rate", "refused"), [("5", False), ("5.001", True)])
def test_the_labels_highest_rate_is_never_passed(
    week, rose_bed, sprayer, spider_mite, rate, refused
):
    week.rate = Decimal(rate)

    if refused:
        with pytest.raises(RateAboveLabel):
            share_mix(week, [rose_bed], pest=spider_mite, sprayer=sprayer, calibration=None)
    else:
        assert share_mix(
            week, [rose_bed], pest=spider_mite, sprayer=sprayer, calibration=None
        ).tanks()


def test_a_rate_for_this_pest_goes_before_the_general_one(
    week, soap, rose_bed, sprayer, spider_mite
):
    soap.rates.create(plant_group="rose", pest=spider_mite, minimum=1, maximum=2, basis="fl oz/gal")

    with pytest.raises(RateAboveLabel):
        share_mix(week, [rose_bed], pest=spider_mite, sprayer=sprayer, calibration=None)


def test_the_most_an_application_may_carry_binds_the_mix(
    week, soap, rose_bed, sprayer, spider_mite
):
    soap.maximum_amount_per_application = Decimal(14)  # 3 fl oz/gal at 5 gal are 15 on 1,000
    soap.amount_basis = "fl oz/1000 ft2"

    mix = share_mix(week, [rose_bed], pest=spider_mite, sprayer=sprayer, calibration=None)

    assert "limit-passed" in {finding.code for finding in mix.findings()}


def test_a_spreader_goes_in_beside_the_product(week, rose_bed, sprayer, spider_mite):
    week.adjuvant = Product.objects.create(name="Spread", kind="adjuvant")
    week.adjuvant_rate = Decimal("0.5")

    mix = share_mix(week, [rose_bed], pest=spider_mite, sprayer=sprayer, calibration=None)

    assert str(mix.tanks()[0].adjuvants[0].measured) == "1.5 fl oz"
    assert str(mix.adjuvant) == "1.5 fl oz"


def test_a_step_without_a_spray_has_nothing_to_mix(rose_bed, sprayer, spider_mite):
    wash = RotationWeek(week=2, step="wash")

    with pytest.raises(NothingToMix, match="Week 2"):
        share_mix(wash, [rose_bed], pest=spider_mite, sprayer=sprayer, calibration=None)


@pytest.mark.parametrize("columns", [{"plant_group": "lawn"}, {"basis": "fl oz/1000 ft2"}])
def test_where_the_label_gives_no_rate_nothing_is_mixed(
    week, soap, rose_bed, sprayer, spider_mite, columns
):
    soap.rates.update(**columns)

    with pytest.raises(RateNotOnLabel, match="gives no rate in fl oz/gal for roses"):
        share_mix(week, [rose_bed], pest=spider_mite, sprayer=sprayer, calibration=None)


@pytest.fixture
def box_edging(soap, rose_bed):
    """A box hedge of 200 square feet beside the roses, for which the label allows less."""
    soap.rates.create(
        plant_group="shrub",
        minimum=Decimal(2),
        maximum=Decimal(3),
        basis="fl oz/gal",
        gallons_per_1000_sq_ft=Decimal(5),
    )
    edging = type(rose_bed).objects.get(pk=rose_bed.pk)
    edging.pk, edging.name, edging.plant_group = None, "Box edging", "shrub"
    edging.length_ft = Decimal(20)
    edging.save(force_insert=True)
    return edging


def shared(week, plantings, pest, sprayer, calibration=None):
    return share_mix(week, plantings, pest=pest, sprayer=sprayer, calibration=calibration)


def test_plantings_share_their_tanks(week, rose_bed, box_edging, sprayer, spider_mite):
    mix = shared(week, [rose_bed, box_edging], spider_mite, sprayer)

    # 600 and 200 sq ft at 5 gal on 1,000 are 3 and 1 gal: one tank of 4
    assert [tank.gallons for tank in mix.tanks()] == [4]
    assert mix.gallons == {rose_bed.pk: 3, box_edging.pk: 1}
    assert str(mix.product) == "12 fl oz"


@pytest.mark.parametrize(("rate", "refused"), [("3", False), ("3.001", True)])
def test_the_strictest_of_the_sites_binds_them_all(
    week, rose_bed, box_edging, sprayer, spider_mite, rate, refused
):
    week.rate = Decimal(rate)

    if refused:
        with pytest.raises(RateAboveLabel):
            shared(week, [rose_bed, box_edging], spider_mite, sprayer)
    else:
        mix = shared(week, [rose_bed, box_edging], spider_mite, sprayer)
        assert (mix.label.lowest, mix.label.highest) == (Decimal("2.5"), 3)


def test_a_rate_at_the_limit_is_measured_downwards(
    week, soap, rose_bed, box_edging, sprayer, spider_mite
):
    rose_bed.measured_area_sq_ft = Decimal(613)  # with the edging 4.065 gal
    week.rate = Decimal(3)

    mix = shared(week, [rose_bed, box_edging], spider_mite, sprayer)

    assert mix.product.amount <= Decimal("4.065") * 3


def test_one_site_without_a_rate_stops_the_whole_mix(
    week, soap, rose_bed, box_edging, sprayer, spider_mite
):
    soap.rates.filter(plant_group="shrub").delete()

    with pytest.raises(RateNotOnLabel):
        shared(week, [rose_bed, box_edging], spider_mite, sprayer)


def test_by_a_dose_on_the_ground_only_what_is_sprayed_alike_shares_a_tank(
    week, soap, rose_bed, box_edging, sprayer, spider_mite
):
    soap.rates.update(basis="fl oz/1000 ft2")
    soap.rates.filter(plant_group="shrub").update(gallons_per_1000_sq_ft=Decimal(2))
    week.basis = "fl oz/1000 ft2"

    mix = shared(week, [rose_bed, box_edging], spider_mite, sprayer)

    assert [plan.spray_gallons for plan in mix.plans] == [3, Decimal("0.4")]


def test_the_total_is_what_the_tanks_are_measured_to(week, soap, rose_bed, sprayer, spider_mite):
    rose_bed.measured_area_sq_ft = Decimal(1237)  # 6.185 gal: a tank of 4 and one of 2.185

    mix = shared(week, [rose_bed], spider_mite, sprayer)

    measured = sum(tank.product.measured.to(mix.product.unit).amount for tank in mix.tanks())
    assert mix.product.amount == measured
    assert mix.product.amount != mix.plans[0].total.amount


def test_before_a_sprayer_is_chosen_all_goes_into_one_tank(week, rose_bed, spider_mite):
    rose_bed.measured_area_sq_ft = Decimal(2200)

    mix = shared(week, [rose_bed], spider_mite, sprayer=None)

    assert [tank.gallons for tank in mix.tanks()] == [11]


def test_a_test_with_water_serves_a_strength_where_nothing_else_tells(
    week, soap, rose_bed, spider_mite, owner
):
    soap.rates.update(gallons_per_1000_sq_ft=None)
    WaterTest.objects.create(
        planting=rose_bed,
        tested_on="2026-06-01",
        tested_by=owner,
        water_amount=Decimal(1),
        water_unit="gal",
        plants_tested=10,
    )

    # 10 of 40 plants took 1 gal
    assert spray_for_each(week, [rose_bed], spider_mite, None) == {rose_bed.pk: 4}


def test_a_spreader_kept_by_weight_is_not_reckoned_by_the_gallon(
    week, rose_bed, sprayer, spider_mite
):
    week.adjuvant = Product.objects.create(name="Spread", kind="adjuvant", stock_unit="oz")
    week.adjuvant_rate = Decimal("0.5")

    with pytest.raises(UnitMismatch):
        shared(week, [rose_bed], spider_mite, sprayer)


def test_a_mix_without_a_planting_is_none(week, spider_mite, sprayer):
    with pytest.raises(NoPlanting):
        shared(week, [], spider_mite, sprayer)

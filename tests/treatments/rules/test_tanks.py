"""A job split over tanks: the limit holds, the tanks add up, and none is empty."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.findings import Severity, refuses
from treatments.rules.mixing import CalibrationMissing, RateAboveLabel
from treatments.rules.tanks import Adjuvant, Limit, TankUnusable, plan_mix, split_spray
from treatments.rules.units import AmountUnusable, Basis, Unit, UnitMismatch, exact, exact_convert

PER_GALLON = Basis.FLUID_OUNCES_PER_GALLON
GALLONS = st.decimals(min_value="0.1", max_value=300, places=2)
TANKS = st.decimals(min_value=1, max_value=100, places=1)
RATES = st.decimals(min_value="0.05", max_value=6, places=2)


def plan(**changes):
    job = {
        "rate": Decimal(2),
        "basis": PER_GALLON,
        "maximum_rate": Decimal(2),
        "spray_gallons": Decimal(2),
        "tank_gallons": Decimal(2),
    }
    return plan_mix(**job | changes)


def codes(mix):
    return [finding.code for finding in mix.findings]


def fluid_ounces(measure):
    return exact_convert(measure.amount, measure.unit, Unit.FLUID_OUNCE)


def test_two_ounces_a_gallon_in_a_two_gallon_sprayer_are_four():
    # common practice
    (tank,) = plan().tanks

    assert str(tank.product.measured) == "4 fl oz"
    assert tank.water_gallons == Decimal("1.96875")  # 2 gallons less 4 of 128 fl oz [UNL-MATH]
    assert plan().findings == []


def test_an_area_rate_goes_by_the_ground_that_the_gallons_cover():
    # [MD0173] at 5 gallons for 1,000 square feet 20 gallons cover 4,000
    mix = plan(
        rate=Decimal(3),
        basis=Basis.FLUID_OUNCES_PER_1000_SQ_FT,
        maximum_rate=Decimal(3),
        spray_gallons=Decimal(20),
        tank_gallons=Decimal(20),
        output_gal_per_1000_sq_ft=Decimal(5),
    )

    assert str(mix.total) == "12 fl oz"


def test_no_ground_is_no_job():
    with pytest.raises(AmountUnusable, match="The area"):
        plan(
            spray_gallons=None,
            treated_area_sq_ft=Decimal(0),
            output_gal_per_1000_sq_ft=Decimal(5),
        )


def test_dry_product_takes_no_room_from_the_water():
    # [PES-MIXING] 2 lb in 100 gallons is 6.4 oz in 20 gallons
    mix = plan(
        rate=Decimal(2),
        basis=Basis.POUNDS_PER_100_GALLONS,
        spray_gallons=Decimal(20),
        tank_gallons=Decimal(20),
        store_unit=Unit.OUNCE,
    )

    assert mix.tanks[0].water_gallons == 20
    assert mix.total.to(Unit.OUNCE).amount == Decimal("6.4")
    assert mix.tanks[0].product.measured.unit is Unit.GRAM
    assert mix.total_from_store.unit is Unit.OUNCE


def test_a_multiple_of_the_tank_leaves_no_empty_tank():
    assert split_spray(12, 4) == (4, 4, 4)


@pytest.mark.parametrize(("rest", "tanks"), [("8.9", 3), ("9", 3), ("9.1", 3)])
def test_a_rest_too_small_to_spray_is_spread(rest, tanks):
    gallons = split_spray(Decimal(rest), 4, smallest_batch_gallons=1)

    assert len(gallons) == tanks
    assert (len(set(gallons)) == 1) is (Decimal(rest) - 8 < 1)


def test_a_batch_below_the_smallest_is_told():
    mix = plan(spray_gallons=Decimal("0.5"), smallest_batch_gallons=Decimal(1))

    assert "batch-too-small" in codes(mix)


def test_a_tank_may_take_just_its_smallest_batch():
    # common practice
    assert codes(plan(smallest_batch_gallons=Decimal(2))) == []
    assert split_spray(10, 2, smallest_batch_gallons=2) == (2, 2, 2, 2, 2)


def test_a_tank_below_its_own_smallest_batch_is_refused():
    with pytest.raises(TankUnusable, match="less than its smallest batch"):
        split_spray(10, 2, smallest_batch_gallons=3)


@given(GALLONS, TANKS, st.decimals(min_value=0, max_value=1, places=2))
def test_the_tanks_add_up_and_none_is_empty_or_too_full(spray, tank, smallest):
    gallons = split_spray(spray, tank, smallest_batch_gallons=smallest)

    assert min(gallons) > 0
    assert max(gallons) <= tank
    assert abs(sum(map(exact, gallons)) - exact(spray)) < Fraction(1, 10**20)


@given(GALLONS, TANKS, RATES, st.decimals(min_value=0, max_value=1, places=2))
def test_no_tank_is_stronger_than_the_label_allows(spray, tank_gallons, rate, room):
    maximum = rate + room

    mix = plan(rate=rate, maximum_rate=maximum, spray_gallons=spray, tank_gallons=tank_gallons)

    for tank in mix.tanks:
        assert fluid_ounces(tank.product.measured) <= exact(maximum) * exact(tank.gallons)


@given(GALLONS, TANKS, RATES, st.decimals(min_value=100, max_value=50_000, places=0))
def test_no_area_gets_more_than_the_label_allows(spray, tank_gallons, rate, area):
    most = Limit(rate, Basis.FLUID_OUNCES_PER_1000_SQ_FT)

    mix = plan(
        rate=rate,
        maximum_rate=None,
        spray_gallons=spray,
        treated_area_sq_ft=area,
        tank_gallons=tank_gallons,
        limits=[most],
    )

    assert fluid_ounces(mix.total_measured) <= exact(rate) * exact(area) / 1000 + Fraction(
        1, 10**20
    )
    assert ("limit-passed" in codes(mix)) is (exact(spray) > exact(area) / 1000)


@given(GALLONS, TANKS, RATES)
def test_water_and_products_fill_each_tank(spray, tank_gallons, rate):
    mix = plan(rate=rate, maximum_rate=None, spray_gallons=spray, tank_gallons=tank_gallons)

    for tank in mix.tanks:
        liquid = exact_convert(
            tank.product.measured.amount, tank.product.measured.unit, Unit.GALLON
        )
        assert abs(exact(tank.water_gallons) + liquid - exact(tank.gallons)) < Fraction(1, 10**20)


def test_an_area_rate_is_mixed_by_the_calibrated_output():
    # [NJ-CORE-QUESTION] 10,500 square feet at 1.5 fl oz for 1,000 take 15.75 fl oz
    mix = plan(
        rate=Decimal("1.5"),
        basis=Basis.FLUID_OUNCES_PER_1000_SQ_FT,
        spray_gallons=None,
        treated_area_sq_ft=Decimal(10_500),
        output_gal_per_1000_sq_ft=Decimal(2),
        tank_gallons=Decimal(15),
    )

    assert (mix.spray_gallons, mix.full_tanks, len(mix.tanks)) == (21, 1, 2)
    assert mix.total.amount == Decimal("15.75")


def test_an_area_rate_without_area_or_output_is_refused():
    with pytest.raises(CalibrationMissing):
        plan(basis=Basis.PINTS_PER_ACRE)


def test_neither_spray_nor_area_is_no_job():
    with pytest.raises(CalibrationMissing, match="the area and the output"):
        plan(spray_gallons=None, treated_area_sq_ft=Decimal(1_000))


def test_a_rate_above_the_label_is_refused():
    with pytest.raises(RateAboveLabel):
        plan(rate=Decimal("2.01"))


def test_an_adjuvant_above_its_label_is_refused():
    strong = Adjuvant("surfactant", Decimal("0.6"), Basis.PERCENT_BY_VOLUME, Decimal("0.5"))

    with pytest.raises(RateAboveLabel, match="% v/v"):
        plan(adjuvants=[strong])


def test_an_adjuvant_by_volume_is_measured_and_takes_room():
    # 0.25 % of a gallon is 0.32 of its 128 fl oz [UNL-MATH]
    surfactant = Adjuvant("surfactant", Decimal("0.25"), Basis.PERCENT_BY_VOLUME)

    (tank,) = plan(adjuvants=[surfactant]).tanks

    assert tank.adjuvants[0].exact.amount == Decimal("0.64")
    assert tank.water_gallons < Decimal("1.96875")


@pytest.mark.parametrize(("area", "passed"), [("999", True), ("1000", False), ("1001", False)])
def test_a_second_limit_for_the_area_is_checked_on_both_sides(area, passed):
    mix = plan(
        treated_area_sq_ft=Decimal(area),
        limits=[Limit(Decimal(4), Basis.FLUID_OUNCES_PER_1000_SQ_FT)],
    )

    assert ("limit-passed" in codes(mix)) is passed
    assert refuses(mix.findings) is passed


def test_a_limit_for_an_unknown_area_is_not_passed_over():
    mix = plan(limits=[Limit(Decimal(4), Basis.FLUID_OUNCES_PER_ACRE)])

    assert codes(mix) == ["limit-unchecked"]
    assert refuses(mix.findings)


def test_a_limit_by_weight_is_not_compared_with_a_volume():
    with pytest.raises(UnitMismatch, match="density"):
        plan(limits=[Limit(Decimal(1), Basis.POUNDS_PER_100_GALLONS)])


def test_an_amount_too_small_for_any_tool_is_refused():
    mix = plan(rate=Decimal("0.001"), maximum_rate=Decimal("0.001"))

    assert mix.tanks[0].product.measured.amount == 0
    assert codes(mix) == ["amount-cannot-be-measured"]


def test_products_that_overfill_the_tank_are_refused():
    mix = plan(rate=Decimal(130), maximum_rate=None)  # a gallon is 128 fl oz [UNL-MATH]

    assert "over-capacity" in codes(mix)


@pytest.mark.parametrize(("minimum", "told"), [("1.95", False), ("2", False)])
def test_a_dose_at_or_above_the_lowest_rate_is_not_told(minimum, told):
    assert ("below-label-minimum" in codes(plan(minimum_rate=Decimal(minimum)))) is told


def test_a_dose_rounded_below_the_lowest_rate_is_told():
    mix = plan(rate=Decimal("1.6"), maximum_rate=Decimal("1.6"), minimum_rate=Decimal("1.6"))

    (finding,) = [each for each in mix.findings if each.code == "below-label-minimum"]
    assert finding.severity is Severity.WARNING
    assert "lowest rate" in finding.say()


@pytest.mark.parametrize(("rate", "told"), [(128, False), (129, True)])
def test_products_may_fill_the_tank_and_no_more(rate, told):
    # 128 fl oz are a gallon [UNL-MATH]
    mix = plan(rate=Decimal(rate), maximum_rate=Decimal(rate))

    assert ("over-capacity" in codes(mix)) is told


def test_rinse_water_counts_as_water():
    # [MT-RINSING] three rinses of a quarter of a one-gallon jug are 0.75 gallon
    mix = plan(spray_gallons=Decimal(4), rinsate_gallons=Decimal("0.75"))

    assert mix.tanks[0].water_gallons - mix.tanks[1].water_gallons == Decimal("0.75")


def test_rinse_water_leaves_the_water_that_is_wanted_yet():
    # by subtraction, to less than a gallon: 1.96875 less 1.5
    mix = plan(rinsate_gallons=Decimal("1.5"))

    assert mix.tanks[-1].water_gallons == Decimal("0.46875")


@pytest.mark.parametrize(("rinsate", "fits"), [("1.96875", True), ("1.97", False)])
def test_rinse_water_that_does_not_fit_is_told(rinsate, fits):
    mix = plan(rinsate_gallons=Decimal(rinsate))

    assert ("rinsate-does-not-fit" in codes(mix)) is not fits
    assert mix.tanks[-1].water_gallons >= 0


@pytest.mark.parametrize("change", ["tank_gallons", "spray_gallons", "rate"])
def test_nothing_is_no_job(change):
    with pytest.raises(AmountUnusable):
        plan(**{change: Decimal(0)})


def test_tanks_of_one_size_are_told_of_once():
    mix = plan(rate=Decimal("0.001"), maximum_rate=None, spray_gallons=Decimal(8))

    assert len(mix.tanks) == 4
    assert len(mix.findings) == 1

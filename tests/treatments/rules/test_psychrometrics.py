"""Wet bulb and Delta T at other pressures, their limits, and the signs of an inversion."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.psychrometrics import (
    AirUnusable,
    DeltaTBand,
    InversionSign,
    check_inversion,
    delta_t_band,
    delta_t_c,
    dew_point_c,
    humidity_percent,
    is_borderline,
    station_hpa,
    wet_bulb_by_formula_c,
    wet_bulb_c,
)


@given(st.floats(0, 45), st.floats(5, 99))
def test_the_wet_bulb_tells_its_humidity_back(temperature, humidity):
    wet = wet_bulb_c(temperature, humidity)

    assert humidity_percent(temperature, wet) == pytest.approx(humidity, abs=0.01)


@given(st.floats(5, 40), st.floats(10, 99))
def test_the_formula_stays_within_its_published_error(temperature, humidity):
    # [JAMC-2011] -1 to +0.65 C; the equation solved here is not the paper's, hence the tenth
    error = wet_bulb_by_formula_c(temperature, humidity) - wet_bulb_c(temperature, humidity)

    assert -1.1 <= error <= 0.75


def test_full_air_cools_no_thermometer():
    assert delta_t_c(20, 100) == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize(
    ("feet", "hpa"),
    [(0, 1013.25), (5_000, 843.07), (10_000, 696.82)],  # standard atmosphere, from memory
)
def test_the_pressure_falls_with_the_elevation(feet, hpa):
    assert station_hpa(feet) == pytest.approx(hpa, abs=0.2)


def test_thin_air_cools_a_wet_bulb_more():
    assert delta_t_c(30, 30, station_hpa(5_000)) > delta_t_c(30, 30) + 0.3


@pytest.mark.parametrize(
    ("delta_t", "band"),
    [
        (1.99, DeltaTBand.LOW),
        (2.0, DeltaTBand.IDEAL),  # [SPRAYERS101] 2 to 8, with care to 10
        (8.0, DeltaTBand.IDEAL),
        (8.01, DeltaTBand.MARGINAL),
        (10.0, DeltaTBand.MARGINAL),
        (10.01, DeltaTBand.HIGH),
    ],
)
def test_each_limit_belongs_to_the_better_band(delta_t, band):
    assert delta_t_band(delta_t) is band


@pytest.mark.parametrize(("delta_t", "near"), [(1.69, False), (1.7, True), (2.3, True), (5, False)])
def test_near_a_limit_nothing_passes_or_fails(delta_t, near):
    assert is_borderline(delta_t) is near


def test_dew_falls_at_the_temperature_of_full_air():
    assert dew_point_c(18, 100) == pytest.approx(18)


@pytest.mark.parametrize(("temperature", "humidity"), [(20, 0), (20, 101), (61, 50), (-21, 50)])
def test_air_that_does_not_exist_is_refused(temperature, humidity):
    with pytest.raises(AirUnusable):
        wet_bulb_c(temperature, humidity)


def test_a_wet_bulb_as_warm_as_the_dry_one_tells_full_air():
    assert humidity_percent(20, 20) == pytest.approx(100)


def test_a_wet_bulb_is_never_the_warmer():
    with pytest.raises(AirUnusable):
        humidity_percent(20, 20.1)


@pytest.mark.parametrize(("temperature", "humidity"), [(60, 50), (-20, 50), (20, 0.5), (20, 100)])
def test_the_wet_bulb_of_air_at_its_ends_is_told(temperature, humidity):
    # our own choice of limits
    assert wet_bulb_c(temperature, humidity) <= temperature


@pytest.mark.parametrize(("feet", "above"), [(-1_500, True), (20_000, False)])
def test_properties_lie_as_high_and_deep_as_people_live(feet, above):
    # our own choice of limits
    assert (station_hpa(feet) > station_hpa(0)) is above


@pytest.mark.parametrize("feet", [-1_501, 20_001])
def test_no_property_lies_so_high_or_deep(feet):
    with pytest.raises(AirUnusable):
        station_hpa(feet)


@pytest.mark.parametrize(("wind", "count"), [(None, 2), (2.9, 2), (3, 1), (6, 1)])
def test_smoke_that_hangs_counts_in_any_wind_and_dew_in_none_but_a_calm(wind, count):
    # [CANOLA-INVERSION] signs; [PES-DRIFT] 3 mph
    signs = [InversionSign.SMOKE_HANGS, InversionSign.FOG_DEW_OR_FROST]

    found = check_inversion(signs, wind)

    assert len(found) == count
    assert "smoke" in found[0].say().casefold()


def test_a_steady_wind_under_solid_cloud_has_no_inversion():
    # [CANOLA-INVERSION] assume one at night unless there is steady wind and solid cloud
    assert check_inversion(list(InversionSign), 5, solid_cloud=True) == []


def test_a_sign_is_told_in_words():
    (finding,) = check_inversion([InversionSign.SMELLS_CARRY], 1)

    assert finding.say().startswith("Sign of an inversion: smells or voices that carry far.")
    assert "at least 3 mph" in finding.say_remedy()

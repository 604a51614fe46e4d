"""How the weather service is asked about a place, in the form that it does not redirect."""

from decimal import Decimal

import pytest

from services.rules.grid_places import path_of_point


@pytest.mark.parametrize(
    ("latitude", "longitude", "path"),
    [
        ("40.22", "-74.8", "/points/40.22,-74.8"),
        ("40.0004", "-100", "/points/40,-100"),
        ("-0.0001", "0.0004", "/points/0,0"),  # no figure below zero is left of it
    ],
)
def test_a_place_is_asked_about_without_idle_zeros_and_signs(latitude, longitude, path):
    # [NWS-API] another form is answered by a redirect
    assert path_of_point(Decimal(latitude), Decimal(longitude)) == path

"""What must not follow or meet: families of ingredients, heat, drought, plants, water."""

from treatments.rules.compatibility.heat import check_heat, heat_limits
from treatments.rules.compatibility.plants import (
    check_drought,
    check_sensitive_plants,
    check_spreader,
)
from treatments.rules.compatibility.separations import check_separations, days_apart
from treatments.rules.compatibility.water import check_water_ph, fraction_left, half_life_hours

__all__ = [
    "check_drought",
    "check_heat",
    "check_sensitive_plants",
    "check_separations",
    "check_spreader",
    "check_water_ph",
    "days_apart",
    "fraction_left",
    "half_life_hours",
    "heat_limits",
]

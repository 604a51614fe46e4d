"""The heat of one day above a threshold, from its lowest and highest temperature.

The day's temperature is taken for a sine wave [ECOLOGY-1969] or a triangle [JEE-1977],
single or, with the next day's minimum, double [ENVENT-1976]; all cases stand in the University of
California's leaflet [UC-21373].  Above an upper threshold development goes on at the same pace
(horizontal cutoff) or stops (vertical cutoff).  The intermediate cutoff is left out: it falls
below the vertical one on hot days, the University's own results depart from its formula there,
and no pest in these tables was published with it.  A heat sum is only valid with the method and
the cutoff that it was published with, so a `HeatModel` carries both.
"""

from dataclasses import dataclass, replace
from enum import StrEnum
from math import asin, cos, isfinite, pi

DEGREES_F_A_DEGREE_C = 1.8


class Method(StrEnum):
    """How the temperature is taken to run through a day."""

    SINGLE_SINE = "single sine"
    DOUBLE_SINE = "double sine"
    SINGLE_TRIANGLE = "single triangle"
    DOUBLE_TRIANGLE = "double triangle"
    SIMPLE_AVERAGE = "simple average"


class Cutoff(StrEnum):
    """What heat above the upper threshold counts for."""

    NONE = "none"
    HORIZONTAL = "horizontal"
    VERTICAL = "vertical"


class Scale(StrEnum):
    """The scale of a temperature and of its degree-days."""

    CELSIUS = "C"
    FAHRENHEIT = "F"


DOUBLE = {Method.DOUBLE_SINE, Method.DOUBLE_TRIANGLE}
SINES = {Method.SINGLE_SINE, Method.DOUBLE_SINE}


class TemperatureUnusable(ValueError):
    """A temperature or threshold from which no heat can be told."""


@dataclass(frozen=True, slots=True)
class HeatModel:
    """A threshold with all that makes it valid: method, cutoff and scale.

    lower, upper: thresholds in degrees of `scale`; no upper one means no cutoff
    """

    lower: float
    upper: float | None = None
    method: Method = Method.SINGLE_SINE
    cutoff: Cutoff = Cutoff.HORIZONTAL
    scale: Scale = Scale.CELSIUS

    def __post_init__(self) -> None:
        if self.upper is not None and self.upper <= self.lower:
            raise TemperatureUnusable("The upper threshold stands above the lower one.")
        if self.method is Method.SIMPLE_AVERAGE and self.cutoff is Cutoff.VERTICAL:
            raise TemperatureUnusable("A simple average knows no vertical cutoff.")

    def in_scale(self, scale: Scale) -> "HeatModel":
        """Return the same model with its thresholds on another scale.

        >>> HeatModel(10, 33).in_scale(Scale.FAHRENHEIT).upper
        91.4
        """
        upper = None if self.upper is None else convert(self.upper, self.scale, scale)
        lower = convert(self.lower, self.scale, scale)
        return replace(self, lower=lower, upper=upper, scale=scale)


def convert(temperature: float, from_scale: Scale, to_scale: Scale) -> float:
    """Return a temperature on another scale.

    >>> convert(50.0, Scale.FAHRENHEIT, Scale.CELSIUS)
    10.0
    """
    if from_scale is to_scale:
        return temperature
    if to_scale is Scale.CELSIUS:
        return (temperature - 32) / DEGREES_F_A_DEGREE_C
    return temperature * DEGREES_F_A_DEGREE_C + 32


def celsius_degree_days(fahrenheit: float) -> float:
    """Return Fahrenheit degree-days in Celsius degree-days.

    >>> celsius_degree_days(162)
    90.0
    """
    return fahrenheit / DEGREES_F_A_DEGREE_C


def fahrenheit_degree_days(celsius: float) -> float:
    """Return Celsius degree-days in Fahrenheit degree-days.

    >>> fahrenheit_degree_days(90)
    162.0
    """
    return celsius * DEGREES_F_A_DEGREE_C


def degree_days(
    minimum: float, maximum: float, model: HeatModel, next_minimum: float | None = None
) -> float:
    """Return the degree-days of one day, in the scale of the model.

    minimum, maximum: of the day, in degrees of the model's scale
    next_minimum: of the day after, for the double methods; today's where it is not known

    Raise TemperatureUnusable when the maximum lies below the minimum.

    >>> model = HeatModel(50, 70, scale=Scale.FAHRENHEIT)
    >>> round(degree_days(33, 59, model), 2)
    2.34
    """
    _refuse_unusable(minimum, maximum)
    today = _half(minimum, maximum, model)
    if model.method not in DOUBLE or next_minimum is None:
        return today
    # A night warmer than the day before it is the same wave, read from its other end.
    tomorrow = _half(min(next_minimum, maximum), max(next_minimum, maximum), model)
    return (today + tomorrow) / 2


def heat_above(minimum: float, maximum: float, threshold: float, method: Method) -> float:
    """Return the area of a day's temperature above a threshold, in degree-days.

    minimum, maximum, threshold: in degrees of one scale
    method: a single one; a double one counts as its single

    A flat day, whose maximum is its minimum, counts its whole height.

    >>> heat_above(10, 20, 15, Method.SINGLE_TRIANGLE)
    1.25
    >>> heat_above(20, 20, 15, Method.SINGLE_SINE)
    5.0
    """
    mean, half_range = (maximum + minimum) / 2, (maximum - minimum) / 2
    if method is Method.SIMPLE_AVERAGE:
        return max(0.0, mean - threshold)
    if maximum <= threshold:
        return 0.0
    if minimum >= threshold:
        return mean - threshold
    if method in SINES:
        angle = asin((threshold - mean) / half_range)
        return ((mean - threshold) * (pi / 2 - angle) + half_range * cos(angle)) / pi
    return (maximum - threshold) ** 2 / (2 * (maximum - minimum))


def share_above(minimum: float, maximum: float, threshold: float, method: Method) -> float:
    """Return the part of a day above a threshold, from 0 to 1.

    >>> share_above(10, 20, 15, Method.SINGLE_SINE)
    0.5
    """
    if maximum <= threshold:
        return 0.0
    if minimum >= threshold:
        return 1.0
    if method in SINES:
        mean, half_range = (maximum + minimum) / 2, (maximum - minimum) / 2
        return 0.5 - asin((threshold - mean) / half_range) / pi
    return (maximum - threshold) / (maximum - minimum)


def _half(minimum: float, maximum: float, model: HeatModel) -> float:
    heat = heat_above(minimum, maximum, model.lower, model.method)
    if model.upper is None or model.cutoff is Cutoff.NONE:
        return heat
    heat -= heat_above(minimum, maximum, model.upper, model.method)
    if model.cutoff is Cutoff.HORIZONTAL:
        return heat
    lost = model.upper - model.lower
    return heat - lost * share_above(minimum, maximum, model.upper, model.method)


def _refuse_unusable(minimum: float, maximum: float) -> None:
    if not (isfinite(minimum) and isfinite(maximum)):
        raise TemperatureUnusable("A day's heat needs its lowest and its highest temperature.")
    if maximum < minimum:
        raise TemperatureUnusable(f"A highest of {maximum} lies below a lowest of {minimum}.")

"""How fast spray dries and whether the air lies in layers: wet bulb, Delta T, signs of inversion.

Delta T is the dry less the wet bulb temperature.  From 2 to 8 C is good, up to 10 needs care,
below 2 drops hang in the air and above 10 they dry before they land [SPRAYERS101].  The wet bulb
is solved from the psychrometric equation with the pressure of the place; the short formula
[JAMC-2011] for sea level, off by up to 0.6 C, stands beside it.
"""

from collections.abc import Collection
from enum import StrEnum
from math import atan, exp, isfinite, log, sqrt

from treatments.rules.findings import Finding, Marked, Severity, gettext_noop

SEA_LEVEL_HPA = 1013.25  # standard atmosphere, from memory
PSYCHROMETER_PER_K = 0.00066  # of an aspirated psychrometer; agrees with [STUDYLIB-RH]
LEAST_C, MOST_C, CAREFUL_C = 2.0, 8.0, 10.0  # [SPRAYERS101]
BORDERLINE_C = 0.3  # the two ways of computing differ by so much; this project's choice
STEADY_WIND_MPH = 3.0  # [PES-DRIFT]
HALVINGS = 50


class AirUnusable(ValueError):
    """A temperature, humidity or pressure that the air does not have."""


class DeltaTBand(StrEnum):
    """What a Delta T means for spraying."""

    LOW = "low"
    IDEAL = "ideal"
    MARGINAL = "marginal"
    HIGH = "high"


class InversionSign(StrEnum):
    """What shows that the air lies in still layers [CANOLA-INVERSION]."""

    CALM_CLEAR = "calm and clear"
    COLD_NIGHT_AFTER_WARM_DAY = "cold night after a warm day"
    FOG_DEW_OR_FROST = "fog, dew or frost"
    SMOKE_HANGS = "smoke or dust hangs"
    SMELLS_CARRY = "smells carry"
    CLOUDS_COLLAPSE = "heaped clouds collapse toward evening"
    CLEAR_NIGHT = "little cloud at night"


SENTENCES: dict[InversionSign, Marked] = {
    InversionSign.CALM_CLEAR: gettext_noop("almost no wind under a clear sky"),
    InversionSign.COLD_NIGHT_AFTER_WARM_DAY: gettext_noop("a cold night after a warm day"),
    InversionSign.FOG_DEW_OR_FROST: gettext_noop("fog, dew or frost"),
    InversionSign.SMOKE_HANGS: gettext_noop("smoke or dust that hangs or slides in a sheet"),
    InversionSign.SMELLS_CARRY: gettext_noop("smells or voices that carry far"),
    InversionSign.CLOUDS_COLLAPSE: gettext_noop("heaped clouds that collapse toward evening"),
    InversionSign.CLEAR_NIGHT: gettext_noop("little cloud at night"),
}
INVERSION = gettext_noop(
    "Sign of an inversion: %(sign)s. Fine drops stay in the cold layer and drift far."
)
WAIT_FOR_STEADY_WIND = gettext_noop(
    "Hold until a steady wind of at least %(limit)s mph blows, or the sun has been up two hours."
)


def saturation_hpa(temperature_c: float) -> float:
    """Return the vapour pressure of air that holds all it can, over water, in hPa.

    Buck's form of the equation, from memory.

    >>> round(saturation_hpa(20), 1)
    23.4
    """
    return 6.1121 * exp((18.678 - temperature_c / 234.5) * temperature_c / (257.14 + temperature_c))


def station_hpa(elevation_ft: float) -> float:
    """Return the pressure at an elevation in the standard atmosphere, in hPa; from memory.

    elevation_ft: feet above the sea

    >>> round(station_hpa(0), 2), round(station_hpa(5_000))
    (1013.25, 843)
    """
    if not -1_500 <= elevation_ft <= 20_000:
        raise AirUnusable(f"No property lies {elevation_ft} feet above the sea.")
    return SEA_LEVEL_HPA * (1 - 0.0065 * elevation_ft * 0.3048 / 288.15) ** 5.25588


def wet_bulb_c(
    temperature_c: float, humidity_percent: float, pressure_hpa: float = SEA_LEVEL_HPA
) -> float:
    """Return the wet bulb temperature in degrees Celsius, solved from e = es(Tw) - A P (T - Tw).

    temperature_c: of the air, -20 to 60; humidity_percent: above 0, to 100

    >>> round(wet_bulb_c(20, 50), 1)
    13.8
    """
    _refuse_impossible(temperature_c, humidity_percent)
    vapour = saturation_hpa(temperature_c) * humidity_percent / 100
    low, high = temperature_c - 60, temperature_c
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        cooled = PSYCHROMETER_PER_K * pressure_hpa * (temperature_c - middle)
        low, high = (middle, high) if saturation_hpa(middle) - cooled < vapour else (low, middle)
    return (low + high) / 2


def wet_bulb_by_formula_c(temperature_c: float, humidity_percent: float) -> float:
    """Return the wet bulb temperature at sea level by the short formula [JAMC-2011], in Celsius.

    Valid from 5 to 99 % and -20 to 50 C, save cold and dry together; off by -1 to +0.65 C.

    >>> round(wet_bulb_by_formula_c(20, 50), 1)
    13.7
    """
    _refuse_impossible(temperature_c, humidity_percent)
    t, rh = temperature_c, humidity_percent
    return (
        t * atan(0.151977 * sqrt(rh + 8.313659))
        + atan(t + rh)
        - atan(rh - 1.676331)
        + 0.00391838 * rh**1.5 * atan(0.023101 * rh)
        - 4.686035
    )


def humidity_percent(
    dry_bulb_c: float, wet_bulb_c: float, pressure_hpa: float = SEA_LEVEL_HPA
) -> float:
    """Return the relative humidity that a psychrometer shows, in per cent.

    dry_bulb_c, wet_bulb_c: both thermometers

    >>> round(humidity_percent(20, 15))
    59
    """
    if wet_bulb_c > dry_bulb_c:
        raise AirUnusable("The wet bulb is never warmer than the dry one.")
    cooled = PSYCHROMETER_PER_K * pressure_hpa * (dry_bulb_c - wet_bulb_c)
    return 100 * (saturation_hpa(wet_bulb_c) - cooled) / saturation_hpa(dry_bulb_c)


def dew_point_c(temperature_c: float, humidity_percent: float) -> float:
    """Return the temperature at which dew falls, in degrees Celsius; Magnus' form, from memory.

    >>> round(dew_point_c(20, 50), 1)
    9.3
    """
    _refuse_impossible(temperature_c, humidity_percent)
    part = log(humidity_percent / 100) + 17.62 * temperature_c / (243.12 + temperature_c)
    return 243.12 * part / (17.62 - part)


def delta_t_c(
    temperature_c: float, humidity_percent: float, pressure_hpa: float = SEA_LEVEL_HPA
) -> float:
    """Return Delta T, the dry less the wet bulb temperature, in degrees Celsius.

    >>> round(delta_t_c(30, 50), 1)
    7.9
    """
    return temperature_c - wet_bulb_c(temperature_c, humidity_percent, pressure_hpa)


def delta_t_band(delta_t: float) -> DeltaTBand:
    """Return what a Delta T in degrees Celsius means; each limit belongs to the better band.

    >>> delta_t_band(2.0).value, delta_t_band(8.1).value
    ('ideal', 'marginal')
    """
    if delta_t < LEAST_C:
        return DeltaTBand.LOW
    if delta_t <= MOST_C:
        return DeltaTBand.IDEAL
    return DeltaTBand.MARGINAL if delta_t <= CAREFUL_C else DeltaTBand.HIGH


def is_borderline(delta_t: float) -> bool:
    """Say whether a Delta T is too near a limit to pass or fail by it.

    >>> is_borderline(2.2), is_borderline(5)
    (True, False)
    """
    limits = (LEAST_C, MOST_C, CAREFUL_C)
    return any(round(abs(delta_t - limit), 2) <= BORDERLINE_C for limit in limits)


def check_inversion(
    signs: Collection[InversionSign], wind_mph: float | None, *, solid_cloud: bool = False
) -> list[Finding]:
    """Return a warning for each sign of an inversion that was seen, unless a steady wind blows.

    wind_mph: None is not known, and never steady; solid_cloud: a closed cover of cloud

    >>> check_inversion([InversionSign.SMOKE_HANGS], wind_mph=2)[0].code
    'inversion'
    """
    if wind_mph is not None and wind_mph >= STEADY_WIND_MPH and solid_cloud:
        return []
    calm = wind_mph is None or wind_mph < STEADY_WIND_MPH
    # A clear evening with a good wind is the rule; smoke that hangs tells an inversion in any wind.
    told = [sign for sign in signs if calm or sign is InversionSign.SMOKE_HANGS]
    return [
        Finding(
            code="inversion",
            severity=Severity.WARNING,
            sentence=INVERSION,
            remedy=WAIT_FOR_STEADY_WIND,
            facts={"sign": SENTENCES[sign], "limit": f"{STEADY_WIND_MPH:g}"},
            source="CANOLA-INVERSION",
        )
        for sign in told
    ]


def _refuse_impossible(temperature_c: float, humidity: float) -> None:
    if not (isfinite(temperature_c) and -20 <= temperature_c <= 60):
        raise AirUnusable(f"{temperature_c} °C is no temperature to spray at.")
    if not 0 < humidity <= 100:
        raise AirUnusable(f"{humidity} percent is no humidity of the air.")

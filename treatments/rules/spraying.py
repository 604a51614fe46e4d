"""Whether the air lets a crew spray now: wind, heat, rain, and what is not known.

The label's limits come first.  Where it is silent, 3 to 8 mph is the range advised
[PES-DRIFT] and 10 mph the stop of common practice.  Still air at dusk and dawn means an
inversion may hold the spray near the ground [CANOLA-INVERSION]: unknown is never calm, and calm
is never good.  Where temperature and humidity are known, Delta T tells how long drops last
[SPRAYERS101].
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from types import MappingProxyType

from treatments.rules.compatibility import check_heat
from treatments.rules.facts import Conditions, ProductFacts
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.psychrometrics import (
    CAREFUL_C,
    LEAST_C,
    MOST_C,
    DeltaTBand,
    delta_t_band,
    delta_t_c,
    is_borderline,
    station_hpa,
)

WIND_ABOVE_LABEL = gettext_noop("Wind %(wind)s mph is above the label's %(limit)s: hold.")
WIND_HIGH = gettext_noop("Wind %(wind)s mph is above %(limit)s, and the label is silent: hold.")
WIND_BRISK = gettext_noop("Wind %(wind)s mph is above %(limit)s: watch where it carries.")
WIND_LOW = gettext_noop("Wind %(wind)s mph is below %(limit)s: the spray may hang in still air.")
WIND_LOW_AT_DUSK = gettext_noop(
    "Wind %(wind)s mph at dusk is below %(limit)s: an inversion may carry the spray: hold."
)
WIND_UNKNOWN = gettext_noop("The wind is not known, and unknown is not calm.")
WAIT_FOR_LESS = gettext_noop("Wait until the wind is %(limit)s mph or less.")
WAIT_FOR_MORE = gettext_noop("Wait for a steady wind of at least %(limit)s mph.")
MEASURE = gettext_noop("Measure it on the spot before the first spray.")
TOO_HOT = gettext_noop(
    "%(temperature)s °F is above the label's %(limit)s °F for %(product)s: hold."
)
TOO_COLD = gettext_noop(
    "%(temperature)s °F is below the label's %(limit)s °F for %(product)s: hold."
)
TEMPERATURE_UNKNOWN = gettext_noop("The temperature is not known; %(product)s has a limit.")
ANOTHER_HOUR = gettext_noop("Choose an hour within the label's range.")
RAIN_TOO_SOON = gettext_noop(
    "Rain is due in %(rain)s hours; %(product)s needs %(limit)s dry hours: hold."
)
RAIN_NEAR = gettext_noop("Rain is due in %(rain)s hours, and the label of %(product)s is silent.")
RAIN_UNKNOWN = gettext_noop(
    "When it rains next is not known; %(product)s needs %(limit)s dry hours."
)
AFTER_RAIN = gettext_noop("Treat after the rain.")
LOOK_AT_FORECAST = gettext_noop("Look at the forecast before mixing.")
DELTA_T_LOW = gettext_noop(
    "Delta T %(delta_t)s °C is below %(limit)s: drops last long and drift, and leaves dry slowly."
)
DELTA_T_MARGINAL = gettext_noop(
    "Delta T %(delta_t)s °C is above %(limit)s: use coarser drops and more water."
)
DELTA_T_HIGH = gettext_noop(
    "Delta T %(delta_t)s °C is above %(limit)s: drops dry before they land: hold."
)
DELTA_T_BORDERLINE = gettext_noop(
    "Delta T %(delta_t)s °C is too near the limit of %(limit)s to pass or fail by it."
)
DRIER_HOUR = gettext_noop("Wait for drier air or a breeze.")
COOLER_HOUR = gettext_noop("Choose a cooler, damper hour.")
LOOK_AT_AIR = gettext_noop("Look at smoke, dew and leaves before the first spray.")

WIND_LEAST_MPH = Decimal(3)  # [PES-DRIFT]
WIND_ADVISED_MPH = Decimal(8)  # [PES-DRIFT]
WIND_STOP_MPH = Decimal(10)  # common practice where the label is silent
DRY_HOURS = Decimal(6)  # common practice where the label is silent
FROST_F, HOTTEST_F = Decimal(32), Decimal(130)  # no Delta T is told beyond them


def spray_verdict(
    conditions: Conditions,
    products: Sequence[ProductFacts],
    *,
    at_dusk: bool = False,
    elevation_ft: float = 0,
) -> list[Finding]:
    """Return what stands against spraying these products in this air; nothing means go.

    conditions: measured on the spot, or forecast; None is unknown, never calm or dry
    products: all that is applied at the stop; the strictest label holds
    at_dusk: whether it is the hour when the air grows still
    elevation_ft: of the place, in feet above the sea, for Delta T
    """
    findings = _wind(conditions.wind_mph, products, at_dusk)
    findings += _delta_t(conditions, elevation_ft)
    for product in products:
        findings += _temperature(conditions, product)
        findings += _rain(conditions.hours_to_rain, product)
    return findings


def _wind(wind: Decimal | None, products: Sequence[ProductFacts], at_dusk: bool) -> list[Finding]:
    if wind is None:
        return [
            _finding("wind-unknown", Severity.WARNING, WIND_UNKNOWN, MEASURE, "common practice")
        ]
    limits = [each.wind_maximum_mph for each in products if each.wind_maximum_mph is not None]
    if limits and wind > min(limits):
        return [
            _finding(
                "wind-above-label",
                Severity.REFUSAL,
                WIND_ABOVE_LABEL,
                WAIT_FOR_LESS,
                facts={"wind": wind, "limit": min(limits)},
            )
        ]
    return _wind_low(wind, at_dusk) or _wind_high(wind, bool(limits))


def _wind_low(wind: Decimal, at_dusk: bool) -> list[Finding]:
    if wind >= WIND_LEAST_MPH:
        return []
    code, sentence = ("still-at-dusk", WIND_LOW_AT_DUSK) if at_dusk else ("still-air", WIND_LOW)
    return [
        _finding(
            code,
            Severity.WARNING,
            sentence,
            WAIT_FOR_MORE,
            "PES-DRIFT",
            facts={"wind": wind, "limit": WIND_LEAST_MPH},
        )
    ]


def _wind_high(wind: Decimal, label_speaks: bool) -> list[Finding]:
    if wind > WIND_STOP_MPH and not label_speaks:
        limit, code, sentence, source = WIND_STOP_MPH, "wind-high", WIND_HIGH, "common practice"
    elif wind > WIND_ADVISED_MPH:
        limit, code, sentence, source = WIND_ADVISED_MPH, "wind-brisk", WIND_BRISK, "PES-DRIFT"
    else:
        return []
    return [
        _finding(
            code, Severity.WARNING, sentence, WAIT_FOR_LESS, source, {"wind": wind, "limit": limit}
        )
    ]


DELTA_T_SAYS = {
    DeltaTBand.LOW: ("delta-t-low", DELTA_T_LOW, DRIER_HOUR, LEAST_C),
    DeltaTBand.MARGINAL: ("delta-t-marginal", DELTA_T_MARGINAL, COOLER_HOUR, MOST_C),
    DeltaTBand.HIGH: ("delta-t-high", DELTA_T_HIGH, COOLER_HOUR, CAREFUL_C),
}


def _delta_t(conditions: Conditions, elevation_ft: float) -> list[Finding]:
    temperature, humidity = conditions.temperature_f, conditions.humidity_percent
    if temperature is None or not humidity or not FROST_F <= temperature <= HOTTEST_F:
        return []
    celsius = (float(temperature) - 32) / 1.8
    delta_t = delta_t_c(celsius, float(humidity), station_hpa(elevation_ft))
    facts: dict[str, object] = {"delta_t": f"{delta_t:.1f}"}
    if is_borderline(delta_t):
        facts["limit"] = f"{min((LEAST_C, MOST_C, CAREFUL_C), key=lambda x: abs(x - delta_t)):g}"
        return [_borderline(facts)]
    if (band := delta_t_band(delta_t)) is DeltaTBand.IDEAL:
        return []
    code, sentence, remedy, limit = DELTA_T_SAYS[band]
    facts["limit"] = f"{limit:g}"
    return [_finding(code, Severity.WARNING, sentence, remedy, "SPRAYERS101", facts)]


def _borderline(facts: Mapping[str, object]) -> Finding:
    return _finding(
        "delta-t-borderline",
        Severity.NOTE,
        DELTA_T_BORDERLINE,
        LOOK_AT_AIR,
        "SPRAYERS101",
        facts,
    )


def _temperature(conditions: Conditions, product: ProductFacts) -> list[Finding]:
    temperature = conditions.temperature_f
    lowest, highest = product.temperature_minimum_f, product.temperature_maximum_f
    facts: dict[str, object] = {"product": product.name, "temperature": temperature}
    if temperature is None:
        if lowest is None and highest is None and not product.separation_classes():
            return []
        return [
            _finding(
                "temperature-unknown", Severity.WARNING, TEMPERATURE_UNKNOWN, MEASURE, facts=facts
            )
        ]
    if highest is not None and temperature > highest:
        facts["limit"] = highest
        return [_finding("above-label-heat", Severity.REFUSAL, TOO_HOT, ANOTHER_HOUR, facts=facts)]
    if lowest is not None and temperature < lowest:
        facts["limit"] = lowest
        return [_finding("below-label-heat", Severity.REFUSAL, TOO_COLD, ANOTHER_HOUR, facts=facts)]
    return check_heat(product, temperature, conditions.humidity_percent)


def _rain(hours_to_rain: Decimal | None, product: ProductFacts) -> list[Finding]:
    limit = product.rainfast_hours
    facts: dict[str, object] = {
        "product": product.name,
        "rain": hours_to_rain,
        "limit": limit,
    }
    if hours_to_rain is None:
        if limit is None:
            return []
        return [
            _finding("rain-unknown", Severity.WARNING, RAIN_UNKNOWN, LOOK_AT_FORECAST, facts=facts)
        ]
    if limit is not None and hours_to_rain < limit:
        return [_finding("rain-too-soon", Severity.REFUSAL, RAIN_TOO_SOON, AFTER_RAIN, facts=facts)]
    if limit is None and hours_to_rain < DRY_HOURS:
        return [
            _finding("rain-near", Severity.WARNING, RAIN_NEAR, AFTER_RAIN, "common practice", facts)
        ]
    return []


def _finding(
    code: str,
    severity: Severity,
    sentence: str,
    remedy: str,
    source: str = "label",
    facts: Mapping[str, object] = MappingProxyType({}),
) -> Finding:
    return Finding(code, severity, sentence, remedy, facts, source)

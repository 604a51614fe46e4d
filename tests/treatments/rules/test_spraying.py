"""Whether the air lets a crew spray."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest

from treatments.rules.facts import Conditions, IngredientFacts, SeparationClass
from treatments.rules.findings import Severity
from treatments.rules.spraying import spray_verdict

EVENING = datetime(2026, 6, 8, 23, 30, tzinfo=UTC)


@pytest.fixture
def air():
    """Return calm, mild, dry air, changed as a test asks."""

    def build(**changes):
        usual = {"wind_mph": 5, "temperature_f": 70, "hours_to_rain": 48}
        return Conditions(
            EVENING, **{k: None if v is None else Decimal(v) for k, v in (usual | changes).items()}
        )

    return build


def test_good_air_raises_nothing(air, a_product):
    assert spray_verdict(air(), [a_product()]) == []


def test_wind_above_the_label_holds_the_visit(air, a_product):
    (finding,) = spray_verdict(air(wind_mph=13), [a_product(wind_maximum_mph=Decimal(10))])

    assert finding.say() == "Wind 13 mph is above the label's 10: hold."
    assert finding.severity is Severity.REFUSAL


@pytest.mark.parametrize(("wind", "refused"), [("10", False), ("10.1", True)])
def test_the_strictest_label_of_the_tank_holds(air, a_product, wind, refused):
    products = [a_product(wind_maximum_mph=Decimal(15)), a_product(wind_maximum_mph=Decimal(10))]

    findings = spray_verdict(air(wind_mph=wind), products)

    assert any(each.severity is Severity.REFUSAL for each in findings) is refused


@pytest.mark.parametrize(
    ("wind", "code"),
    [
        ("2.9", "still-air"),
        ("3", None),  # [PES-DRIFT] 3 to 8 mph
        ("8", None),
        ("8.1", "wind-brisk"),
        ("10", "wind-brisk"),
        ("10.1", "wind-high"),  # common practice where the label is silent
    ],
)
def test_a_silent_label_leaves_the_wind_to_practice(air, a_product, codes, wind, code):
    findings = spray_verdict(air(wind_mph=wind), [a_product()])

    assert codes(findings) == ([code] if code else [])
    assert all(each.severity is Severity.WARNING for each in findings)


@pytest.mark.parametrize(("wind", "code"), [("2.9", ["still-at-dusk"]), ("3", [])])
def test_dusk_asks_for_three_miles_an_hour(air, a_product, codes, wind, code):
    # [PES-DRIFT] at least 3 mph; [CANOLA-INVERSION] still air at dusk is an inversion
    assert codes(spray_verdict(air(wind_mph=wind), [a_product()], at_dusk=True)) == code


def test_an_unknown_wind_is_never_calm(air, a_product):
    (finding,) = spray_verdict(air(wind_mph=None), [a_product()], at_dusk=True)

    assert (finding.code, finding.severity) == ("wind-unknown", Severity.WARNING)


@pytest.mark.parametrize(
    ("temperature", "code"),
    [("40", []), ("39", ["below-label-heat"]), ("85", []), ("86", ["above-label-heat"])],
)
def test_the_labels_temperatures_hold(air, a_product, codes, temperature, code):
    product = a_product(temperature_minimum_f=Decimal(40), temperature_maximum_f=Decimal(85))

    assert codes(spray_verdict(air(temperature_f=temperature), [product])) == code


def test_oil_in_heat_is_held_though_its_label_copy_is_silent(air, a_product, codes):
    # [UC-IPM-PN7493] not above 90 F
    oil = a_product(ingredients=(IngredientFacts("oil", separation_class=SeparationClass.OIL),))

    assert codes(spray_verdict(air(temperature_f=91), [oil])) == ["too-hot"]


def test_an_unknown_temperature_is_said_where_there_is_a_limit(air, a_product, codes):
    limited = a_product(temperature_maximum_f=Decimal(85))

    assert codes(spray_verdict(air(temperature_f=None), [limited])) == ["temperature-unknown"]
    assert spray_verdict(air(temperature_f=None), [a_product()]) == []


@pytest.mark.parametrize(("hours", "code"), [("3.9", ["rain-too-soon"]), ("4", [])])
def test_the_labels_dry_hours_hold(air, a_product, codes, hours, code):
    product = a_product(rainfast_hours=Decimal(4))

    assert codes(spray_verdict(air(hours_to_rain=hours), [product])) == code


@pytest.mark.parametrize(("hours", "code"), [("5.9", ["rain-near"]), ("6", [])])
def test_a_silent_label_leaves_the_rain_to_practice(air, a_product, codes, hours, code):
    # common practice
    assert codes(spray_verdict(air(hours_to_rain=hours), [a_product()])) == code


def test_an_unknown_rain_is_never_dry(air, a_product, codes):
    product = a_product(rainfast_hours=Decimal(4))

    assert codes(spray_verdict(air(hours_to_rain=None), [product])) == ["rain-unknown"]


@pytest.mark.parametrize(
    ("temperature_f", "humidity", "code"),
    [
        (68, 50, []),  # Delta T 6.22 C
        ("64.4", 90, ["delta-t-low"]),  # 1.08 C
        (59, 80, ["delta-t-borderline"]),  # 2.02 C
        (86, 50, ["delta-t-borderline"]),  # 7.99 C
        (77, 40, ["delta-t-marginal"]),  # 8.79 C
        (95, 20, ["delta-t-high"]),  # 16.13 C
        (95, None, []),
        (None, 20, []),
    ],
)
def test_delta_t_is_told_where_it_is_known(air, a_product, codes, temperature_f, humidity, code):
    # [SPRAYERS101] 2 to 8 C is good, up to 10 with care; figures after [PSYCHROLIB]
    conditions = air(temperature_f=temperature_f, humidity_percent=humidity)

    assert codes(spray_verdict(conditions, [a_product()])) == code


@pytest.mark.parametrize(
    ("temperature", "told"), [("31.9", False), ("32", True), ("130", True), ("130.1", False)]
)
def test_no_delta_t_is_told_in_frost_or_beyond_any_working_heat(air, a_product, temperature, told):
    # our own choice of range
    conditions = air(temperature_f=temperature, humidity_percent=97)

    found = [each.code for each in spray_verdict(conditions, [a_product()])]

    assert any(code.startswith("delta-t") for code in found) is told


@pytest.mark.parametrize(
    ("temperature_f", "humidity", "limit"),
    [
        (59, 80, "2"),  # 2.02 C after [PSYCHROLIB]
        (86, 50, "8"),  # 7.99 C
    ],
)
def test_a_borderline_delta_t_names_the_limit_it_lies_at(
    air, a_product, temperature_f, humidity, limit
):
    # [SPRAYERS101] 2 to 8 C is good
    conditions = air(temperature_f=temperature_f, humidity_percent=humidity)

    (finding,) = spray_verdict(conditions, [a_product()])

    assert f"the limit of {limit} to pass" in finding.say()


def test_delta_t_alone_never_stops_the_work(air, a_product):
    (finding,) = spray_verdict(air(temperature_f=95, humidity_percent=20), [a_product()])

    assert finding.severity is Severity.WARNING
    assert finding.say() == "Delta T 16.0 °C is above 10: drops dry before they land: hold."


def test_high_places_have_a_delta_t_of_their_own(air, a_product, codes):
    conditions = air(temperature_f=80, humidity_percent=49)

    low, high = (spray_verdict(conditions, [a_product()], elevation_ft=e) for e in (0, 9_000))

    assert (codes(low), codes(high)) == ([], ["delta-t-marginal"])

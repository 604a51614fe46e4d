"""Within how many days eggs must be reached again."""

from datetime import date
from decimal import Decimal

import pytest

from treatments.rules.degree_days import DayTemperature
from treatments.rules.egg_reach import reach_of_eggs, warmest_week

MITE = ("two-spotted spider mite", "Tetranychus urticae")


def fahrenheit(celsius):
    return Decimal(celsius) * 9 / 5 + 32


# [CANENT-1981] egg to adult takes 141.3, 152.3 and 139.8 degree-days over 10 °C at 15, 18, 21 °C
@pytest.mark.parametrize(("celsius", "heat"), [(15, 141.3), (18, 152.3), (21, 139.8)])
def test_eggs_have_as_long_as_from_egg_to_adult_and_little_more(celsius, heat):
    warm = fahrenheit(celsius)
    to_adult = heat / (celsius - 10)

    days = reach_of_eggs(*MITE, warm, warm).days

    # [EAJBS-12844] females lay .29 to .89 days after the last moult at 25 °C: 4 to 15 degree-days
    assert to_adult - 1 <= days <= (155 + 15) / (celsius - 10)


def test_the_days_are_rounded_to_the_safe_side():
    reach = reach_of_eggs(*MITE, Decimal(68), Decimal(68))

    assert (reach.days, reach.generation_days) == (15, 23)  # 15.7 and 22.9


def test_the_sentence_says_the_heat_and_the_days():
    said = reach_of_eggs(*MITE, Decimal(62), Decimal(80)).finding.say()

    assert said.startswith("At 62 to 80 °F the two-spotted spider mite takes about 13 days")


@pytest.mark.parametrize("warm", [Decimal(50), Decimal(49)])
def test_without_heat_nothing_is_asked(warm):
    assert reach_of_eggs(*MITE, warm, warm).finding.code == "egg-too-cold"


def test_just_above_the_threshold_there_is_heat():
    assert reach_of_eggs(*MITE, Decimal(50), Decimal("50.5")).days


# [PSU-SPRUCE-MITE] egg to adult 2 to 3 weeks; [NCSU-AG-189] life cycle 18 to 21 days
@pytest.mark.parametrize(
    ("pest", "name", "least", "most", "source"),
    [
        ("spruce spider mite", "Oligonychus ununguis", 14, 21, "PSU-SPRUCE-MITE"),
        ("boxwood mite", "Eurytetranychus buxi", 18, 21, "NCSU-AG-189"),
    ],
)
def test_published_days_are_taken_where_heat_is_not_published(pest, name, least, most, source):
    reach = reach_of_eggs(pest, name, Decimal(62), Decimal(80))

    assert (reach.days, reach.generation_days, reach.finding.source) == (least, most, source)
    assert f"{least} to {most} days" in reach.finding.say()


@pytest.mark.parametrize(
    ("pest", "days", "said"),
    [
        ("crape myrtle aphid", 7, "bears live young in summer"),  # from memory
        ("azalea lace bug", 14, "lie in the leaf"),  # from memory
        ("euonymus scale", 7, "No figure is published"),  # common practice
        ("boxwood leafminer", 7, "No figure is published"),  # common practice
    ],
)
def test_where_eggs_are_not_timed_a_sentence_says_why_and_how_soon_a_visit_follows(
    pest, days, said
):
    reach = reach_of_eggs(pest, "", Decimal(62), Decimal(80))

    assert (reach.days, reach.visit_days) == (None, days)
    assert said in reach.finding.say()
    assert f"within {days} days" in reach.finding.say()


@pytest.mark.parametrize("known", [(None, Decimal(80)), (Decimal(62), None)])
def test_one_temperature_of_a_day_does_not_tell_its_heat(known):
    assert reach_of_eggs(*MITE, *known).finding.code == "egg-weather-unknown"


@pytest.mark.parametrize(("number", "told"), [(6, None), (7, (Decimal(59), Decimal(77)))])
def test_a_week_is_of_seven_days(number, told):
    # 15 and 25 C are 59 and 77 F; the last day alone is warmer
    days = [DayTemperature(date(2026, 7, n), 15.0, 25.0) for n in range(1, number + 1)]

    assert warmest_week(days) == told


def test_the_warmest_week_is_no_shorter_than_the_others():
    # six warm days after a cold one: their week has the cold day in it
    cold = DayTemperature(date(2026, 7, 1), 10.0, 10.0)
    warm = [DayTemperature(date(2026, 7, n), 24.0, 24.0) for n in range(2, 8)]

    # (10 + 6 x 24) / 7 are 22 C or 72 F
    assert warmest_week([cold, *warm]) == (72, 72)


def test_without_temperatures_a_visit_follows_within_a_week():
    reach = reach_of_eggs(*MITE, None, None)

    assert (reach.visit_days, reach.finding.code) == (7, "egg-weather-unknown")

"""The words, days and numbers of the sheets in both languages."""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from services.sheets.dates import clock, day_and_clock, long_day, number, short_day
from services.sheets.words import counts_in, words_in


def test_a_language_without_a_catalogue_falls_back_to_english():
    assert words_in("xx")("Wind") == "Wind"


def test_an_empty_text_stays_empty_in_every_language():
    assert words_in("es")("") == ""


@pytest.mark.parametrize(("count", "said"), [(0, "tanks"), (1, "tank"), (2, "tanks")])
def test_one_is_singular_and_none_is_plural(count, said):
    assert counts_in("en")("tank", "tanks", count) == said


# Months and weekdays in lower case, day before month: Fundéu and the RAE's Ortografía, from memory.
def test_a_spanish_day_is_written_in_lower_case_with_de():
    assert long_day(date(2026, 5, 6), "es") == "miércoles 6 de mayo de 2026"
    assert short_day(date(2026, 5, 6), "es") == "mié 6 may"


@pytest.mark.parametrize(
    ("hour", "english", "spanish"),
    [(0, "12:05 am", "0:05"), (11, "11:05 am", "11:05"), (12, "12:05 pm", "12:05")],
)
def test_midnight_and_noon_are_twelve_in_english(hour, english, spanish):
    moment = datetime(2026, 6, 18, hour, 5, tzinfo=UTC)

    assert clock(moment, "en") == english
    assert clock(moment, "es") == spanish


def test_a_region_behind_the_language_changes_nothing():
    moment = datetime(2026, 6, 18, 19, 40, tzinfo=UTC)

    assert day_and_clock(moment, "es-us") == "jue 18 jun, 19:40"


@pytest.mark.parametrize(
    ("value", "written"),
    [("1240", "1,240"), ("0.50", "0.5"), ("100", "100"), ("1E+2", "100"), ("0", "0")],
)
def test_a_number_keeps_its_value_without_needless_zeros(value, written):
    assert number(Decimal(value)) == written

"""Daily temperatures from a table: what is read, and how each wrong cell is told."""

from datetime import date

import pytest

from treatments.rules.degree_days import Scale
from treatments.rules.weather_file import MOST_ROWS, read_weather

HEAD = "date,min,max,unit,kind\n"


def faults_of(row):
    return [(fault.row, fault.column) for fault in read_weather(HEAD + row + "\n").faults]


def test_a_good_table_is_read_in_the_order_of_its_days():
    table = read_weather(HEAD + "2026-05-02,48,71,F,forecast\n2026-05-01,46,70,F,\n")

    assert [(day.day, day.forecast) for day in table.days] == [
        (date(2026, 5, 1), False),
        (date(2026, 5, 2), True),
    ]
    assert (table.days[0].scale, table.faults) == (Scale.FAHRENHEIT, ())


@pytest.mark.parametrize(
    ("kind", "forecast"), [("measured", False), ("", False), ("Forecast", True)]
)
def test_only_what_is_told_as_forecast_is_forecast(kind, forecast):
    (day,) = read_weather(HEAD + f"2026-05-02,48,71,F,{kind}\n").days

    assert day.forecast is forecast


def test_columns_stand_in_any_order_and_others_are_passed_over():
    (day,) = read_weather("\ufeffRain, MAX ,Unit,Date,min\n0,21,°c,2026-05-01,9\n").days

    assert (day.minimum, day.maximum, day.scale) == (9, 21, Scale.CELSIUS)


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("05/01/2026,9,21,C,", "date"),
        ("2026-05-01,,21,C,", "min"),
        ("2026-05-01,9,nan,C,", "max"),
        ('2026-05-01,9,"21,5",C,', "max"),
        ("2026-05-01,9,21,,", "unit"),
        ("2026-05-01,9,21,K,", "unit"),
        ("2026-05-01,9,21,C,guessed", "kind"),
        ("2026-05-01,50,71,C,", "max"),  # Fahrenheit under the name of Celsius
        ("2026-05-01,21,20.9,C,", "max"),
        ("2026-05-01,9", "unit"),
    ],
)
def test_a_wrong_cell_is_told_by_row_and_column(row, column):
    assert faults_of(row) == [(2, column)]


@pytest.mark.parametrize(
    ("highest", "unit", "told"),
    [
        ("60", "C", []),
        ("60.1", "C", [(2, "max")]),
        ("140", "F", []),  # the same heat
        ("140.1", "F", [(2, "max")]),
    ],
)
def test_no_air_is_hotter_than_sixty_degrees(highest, unit, told):
    # our own choice
    assert faults_of(f"2026-05-01,9,{highest},{unit},") == told


@pytest.mark.parametrize(
    ("lowest", "unit", "told"),
    [
        ("-60", "C", []),
        ("-60.1", "C", [(2, "min")]),
        ("-76", "F", []),  # the same cold
        ("-76.1", "F", [(2, "min")]),
    ],
)
def test_no_air_is_colder_than_sixty_below(lowest, unit, told):
    # our own choice
    assert faults_of(f"2026-05-01,{lowest},9,{unit},") == told


def test_a_flat_day_is_no_fault():
    assert faults_of("2026-05-01,9,9,C,") == []


def test_a_day_told_twice_names_the_first_row():
    table = read_weather(HEAD + "2026-05-01,9,21,C,\n\n2026-05-01,9,22,C,\n")

    assert [fault.say() for fault in table.faults] == ["2026-05-01 stands in row 2 already."]
    assert table.days[0].maximum == 21


def test_what_reads_well_is_returned_beside_the_faults():
    table = read_weather(HEAD + "x,9,21,C,\n2026-05-02,9,21,C,\n")

    assert (len(table.days), len(table.faults)) == (1, 1)


@pytest.mark.parametrize("text", ["", "date,min,unit\n2026-05-01,9,C\n"])
def test_a_missing_column_is_told_once(text):
    table = read_weather(text)

    assert "max" in [fault.column for fault in table.faults]
    assert {fault.row for fault in table.faults} == {1}


def test_an_empty_table_is_told():
    (fault,) = read_weather(HEAD).faults

    assert (fault.row, fault.say()) == (1, "The table holds no day.")


def test_ten_thousand_rows_are_read_and_no_more():
    # our own choice; the row of the names counts
    full = read_weather(HEAD + "x,9,21,C,\n" * (MOST_ROWS - 1))
    longer = read_weather(HEAD + "x,9,21,C,\n" * MOST_ROWS)

    assert {fault.column for fault in full.faults} == {"date"}
    assert "rows" not in full.faults[-1].say()
    assert "rows" in longer.faults[-1].say()


def test_a_table_without_end_is_not_read_to_its_end():
    table = read_weather(HEAD + "x,9,21,C,\n" * (MOST_ROWS + 5))

    assert table.faults[-1].say() == "The table is longer than 10000 rows; the rest was not read."

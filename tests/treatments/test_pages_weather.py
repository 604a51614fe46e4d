"""Pages of weather stations: a table that is looked at, taken in or refused; a day by hand."""

from datetime import date
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from treatments.models import WeatherStation

GOOD = "date,min,max,unit\n2026-07-01,63,85,F\n2026-07-02,64,86,F\n"
WRONG = "date,min,max,unit\n2026-07-01,63,85,F\n2026-13-02,64,86,F\n2026-07-03,90,86,F\n"


@pytest.fixture
def station(db):
    """A station near the library."""
    return WeatherStation.objects.create(
        name="Yard", latitude=Decimal("40.24"), longitude=Decimal("-74.84")
    )


@pytest.fixture
def send(client, dispatcher, station):
    """Send a table as the office does."""
    client.force_login(dispatcher)

    def sent(text, **more):
        data = text if isinstance(text, bytes) else text.encode()
        table = SimpleUploadedFile("days.csv", data, content_type="text/csv")
        return client.post(f"/weather-stations/{station.pk}/table/", {"table": table, **more})

    return sent


def test_a_table_is_taken_in(send, station):
    answer = send(GOOD)

    assert answer.status_code == 302
    assert station.days.count() == 2


def test_a_table_sent_twice_is_taken_in_once(send, station):
    send(GOOD)
    send(GOOD)

    assert station.days.count() == 2


def test_a_look_keeps_nothing(send, station):
    answer = send(GOOD, look="1")

    assert "reads well: 2 days" in answer.content.decode()
    assert station.days.count() == 0


def test_every_fault_is_named_by_row_and_column_and_nothing_is_kept(send, station):
    answer = send(WRONG)

    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Row 3, column date" in page
    assert "Row 4, column max" in page
    assert station.days.count() == 0


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("day,low,high\n", "Row 1, column date: The column is missing."),
        ("date,min,max,unit\n", "holds no day"),
        (b"date,min\xff", "no text in UTF-8"),
        ("date,min,max,unit\n2026-07-01,63,850,F\n", "no temperature of the air"),
        ("date,min,max,unit\n2026-07-01,63,85,F\n2026-07-01,63,85,F\n", "row 2 already"),
    ],
)
def test_what_is_no_table_of_days_says_why(send, station, text, why):
    answer = send(text)

    assert answer.status_code == 422
    assert why in answer.content.decode()
    assert station.days.count() == 0


def test_a_day_is_entered_by_hand(client, dispatcher, station):
    client.force_login(dispatcher)
    typed = {"day": "2026-07-01", "minimum_f": "63", "maximum_f": "85", "source": "measured"}

    client.post(f"/weather-stations/{station.pk}/", typed)

    assert station.days.get().day == date(2026, 7, 1)


def test_a_day_that_is_upside_down_keeps_what_was_typed(client, dispatcher, station):
    client.force_login(dispatcher)
    typed = {"day": "2026-07-01", "minimum_f": "85.5", "maximum_f": "63", "source": "measured"}

    answer = client.post(f"/weather-stations/{station.pk}/", typed)

    assert answer.status_code == 422
    assert 'value="85.5"' in answer.content.decode()


def test_a_station_is_entered(client, dispatcher):
    client.force_login(dispatcher)
    typed = {"name": "Barn", "latitude": "40.3", "longitude": "-74.9"}

    answer = client.post("/weather-stations/new/", typed, follow=True)

    assert "No day is known here yet" in answer.content.decode()


def test_a_book_without_a_station_offers_the_first(client, dispatcher):
    client.force_login(dispatcher)

    assert "Enter a station" in client.get("/weather-stations/").content.decode()

"""A file of 10,000 rows with 300 planted faults: each is named, and nothing is half written."""

import random
from datetime import UTC, datetime

import pytest

from clients.models import Client, Planting, Property
from services import bringing
from services.bringing import Sent

NOW = datetime(2026, 7, 13, 15, tzinfo=UTC)
ROWS, FAULTS, PLACES = 10_000, 300, 500
HEADS = [
    "property",
    "name",
    "common name",
    "species",
    "plant group",
    "habit",
    "plants",
    "length ft",
    "width ft",
    "faces",
    "bloom start",
    "bloom end",
    "edible",
    "harvest on",
    "eppo code",
]
GOOD = {
    "common name": "burning bush",
    "species": "Euonymus alatus",
    "plant group": "ornamental shrub",
    "habit": "hedge",
    "plants": "12",
    "length ft": "40.5",
    "width ft": "4",
    "faces": "2",
    "bloom start": "05-20",
    "bloom end": "06-15",
    "edible": "no",
    "harvest on": "",
    "eppo code": "EUOAL",
}
# What is planted in which column, each wrong by itself.
PLANTED = [
    ("property", "A place that is nowhere"),
    ("name", ""),
    ("common name", "x" * 101),
    ("species", ""),
    ("plant group", "shrubbery"),
    ("habit", "fence"),
    ("plants", "-1"),
    ("plants", "a dozen"),
    ("plants", "1.5"),
    ("length ft", "0"),
    ("length ft", "forty"),
    ("length ft", "12,5"),
    ("width ft", "1.25"),
    ("width ft", ""),
    ("bloom start", "13-01"),
    ("bloom end", "June"),
    ("edible", "perhaps"),
    ("harvest on", "31/12/2026"),
    ("harvest on", "2026-02-30"),
    ("eppo code", "E"),
    ("species", "=1+1"),
]


@pytest.fixture
def places(db):
    client = Client.objects.create(name="A large estate")
    found = [
        Property(
            client=client,
            name=f"Place {n}",
            street=f"{n} Way",
            city="Nowhere",
            postal_code="00000",
            jurisdiction="US-PA",
        )
        for n in range(PLACES)
    ]
    Property.objects.bulk_create(found)
    return found


def written(rows):
    import csv
    from io import StringIO

    out = StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(HEADS)
    writer.writerows([row[head] for head in HEADS] for row in rows)
    return out.getvalue().encode()


def good_rows():
    return [
        GOOD | {"property": f"Place {n % PLACES}", "name": f"Hedge {n // PLACES}"}
        for n in range(ROWS)
    ]


def with_faults(rows):
    """Plant the faults in rows that chance picks; return what they are by row and column."""
    chance, planted = random.Random(20260713), set()
    for place, number in enumerate(chance.sample(range(ROWS), FAULTS)):
        head, wrong = PLANTED[place % len(PLANTED)]
        rows[number] = rows[number] | {head: wrong}
        planted.add((number + 2, head))
    return planted


def look_at(content):
    row = bringing.ask(Sent("plantings", "plantings.csv", content), by=None, language="en", now=NOW)
    bringing.run_bringing(row.pk)
    row.refresh_from_db()
    return row


@pytest.mark.slow
@pytest.mark.once
def test_every_planted_fault_is_named_by_row_and_column_and_no_other(places):
    rows = good_rows()
    planted = with_faults(rows)

    row = look_at(written(rows))

    named = {(number, head) for number, _letter, head, _said in row.found["faults"]}
    assert named == planted
    assert len(named) == row.found["faults_in_all"] == FAULTS
    letters = {head: letter for _number, letter, head, _said in row.found["faults"]}
    assert (letters["property"], letters["eppo code"]) == ("A", "O")
    assert all(said for *_place, said in row.found["faults"])
    assert not row.is_to_be_confirmed()
    assert not Planting.objects.exists()


@pytest.mark.slow
@pytest.mark.once
def test_the_same_file_put_right_is_kept_whole(places, django_assert_max_num_queries):
    row = look_at(written(good_rows()))
    assert (row.found["new"], row.found["faults_in_all"]) == (ROWS, 0)

    bringing.confirm(row, now=NOW)
    with django_assert_max_num_queries(300):
        bringing.run_bringing(row.pk)

    assert Planting.objects.count() == ROWS
    row.refresh_from_db()
    bringing.undo(row, by=None, now=row.kept_at)
    assert not Planting.objects.exists()

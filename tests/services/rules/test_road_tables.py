"""Tables of travel as road servers write them: read cell by cell, or refused as a whole."""

from urllib.parse import parse_qs, urlsplit

import pytest
from hypothesis import given
from hypothesis import strategies as st

from services.rules.road_tables import (
    Cell,
    RoadsUnreadable,
    ServerKind,
    blocks,
    cells_of,
    question,
    rounded,
)
from services.rules.travel import Point

YARD, BED = Point(40.22, -74.8), Point(40.25, -74.85)
OSRM, VALHALLA = ServerKind.OSRM, ServerKind.VALHALLA
# The sample of three places in the project's own description of its table service [OSRM-HTTP]
SAMPLE = {
    "code": "Ok",
    "durations": [[0, 192.6, 382.8], [199, 0, 283.9], [344.7, 222.3, 0]],
    "distances": [[0, 1886.89, 3791.3], [1824, 0, 2838.09], [3275.36, 2361.73, 0]],
}


def test_the_sample_of_the_table_service_is_read_as_it_stands():
    cells = cells_of(OSRM, SAMPLE, 3, 3)

    assert cells[0][1] == Cell(192.6, 1886.89)
    assert cells[1][0] == Cell(199, 1824)  # the way back is another [OSRM-HTTP]


def test_a_table_is_asked_for_with_the_longitude_first():
    path, _, query = question(OSRM, [YARD], [BED]).path.partition("?")

    # {longitude},{latitude};... with both annotations [OSRM-HTTP]
    assert path == "/table/v1/driving/-74.80000,40.22000;-74.85000,40.25000"
    assert parse_qs(query) == {
        "annotations": ["duration,distance"],
        "sources": ["0"],
        "destinations": ["1"],
    }


def test_a_matrix_is_asked_for_by_a_body():
    asked = question(VALHALLA, [YARD], [BED])

    # what a matrix is asked by, and in which unit [VALHALLA-MATRIX]
    assert urlsplit(asked.path).path == "/sources_to_targets"
    assert asked.body == {
        "sources": [{"lat": 40.22, "lon": -74.8}],
        "targets": [{"lat": 40.25, "lon": -74.85}],
        "costing": "auto",
        "units": "km",
    }


@pytest.mark.parametrize(
    ("units", "metres"), [("kilometers", 2500.0), ("km", 2500.0), ("miles", 4023.36)]
)
def test_distances_of_a_matrix_are_told_in_its_units(units, metres):
    # kilometers by default, or miles [VALHALLA-MATRIX]; 2.5 miles are 4023.36 m
    told = {"sources_to_targets": [[{"distance": 2.5, "time": 300}]], "units": units}

    assert cells_of(VALHALLA, told, 1, 1) == ((Cell(300, metres),),)


def test_a_cell_without_a_way_is_left_open():
    osrm = {"code": "Ok", "durations": [[0, None]], "distances": [[0, None]]}
    valhalla = {"sources_to_targets": [[None, {"distance": None, "time": None}]]}

    assert cells_of(OSRM, osrm, 1, 2)[0][1] is None
    assert cells_of(VALHALLA, valhalla, 1, 2) == ((None, None),)


@pytest.mark.parametrize(("seconds", "metres"), [(None, 5), (5, None)])
def test_a_way_of_which_time_or_length_is_not_told_is_left_open(seconds, metres):
    told = {"code": "Ok", "durations": [[seconds]], "distances": [[metres]]}

    assert cells_of(OSRM, told, 1, 1) == ((None,),)


def test_no_request_names_more_places_than_servers_take():
    # a hundred places a table, from memory [OSRM-HTTP]
    points = [Point(0, number / 1000) for number in range(120)]

    assert max(len(starts) + len(ends) for starts, ends in blocks(points)) == 100


@pytest.mark.parametrize(("seconds", "known"), [(86_400, True), (86_401, False)])
def test_a_drive_of_more_than_a_day_is_no_leg(seconds, known):
    told = {"code": "Ok", "durations": [[seconds]], "distances": [[1000]]}

    assert (cells_of(OSRM, told, 1, 1)[0][0] is not None) is known


@pytest.mark.parametrize(
    "answer",
    [
        None,
        [],
        {"code": "NoTable"},
        {"code": "Ok"},
        {"code": "Ok", "durations": [[0]], "distances": [[0, 1]]},
        {"code": "Ok", "durations": [["0"]], "distances": [[0]]},
        {"code": "Ok", "durations": [[-1]], "distances": [[0]]},
        {"code": "Ok", "durations": [[float("nan")]], "distances": [[0]]},
        {"code": "Ok", "durations": [[True]], "distances": [[0]]},
    ],
)
def test_an_answer_that_is_no_table_is_refused(answer):
    with pytest.raises(RoadsUnreadable):
        cells_of(OSRM, answer, 1, 1)


@pytest.mark.parametrize(
    "told",
    [{}, {"sources_to_targets": [[7]]}, {"sources_to_targets": [[None]], "units": "parsecs"}],
)
def test_an_answer_that_is_no_matrix_is_refused(told):
    with pytest.raises(RoadsUnreadable):
        cells_of(VALHALLA, told, 1, 1)


@given(number=st.integers(0, 12), size=st.integers(1, 5))
def test_blocks_ask_for_every_way_once(number, size):
    points = [Point(0, place) for place in range(number)]
    ways = [(a, b) for starts, ends in blocks(points, size) for a in starts for b in ends]

    assert sorted(ways, key=str) == sorted(((a, b) for a in points for b in points), key=str)
    assert all(len(part) <= size for pair in blocks(points, size) for part in pair)


def test_points_are_asked_for_in_five_decimals():
    assert rounded(Point(40.000004, -74.000006)) == Point(40.0, -74.00001)

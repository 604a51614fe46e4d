"""What is left of a route when a stop leaves it; the roads are one straight line of minutes."""

import pytest

from services.rules.legs import leaves_and_returns, legs_without

PLACES = {None: 0, 1: 10, 2: 30, 3: 20}  # minutes from the yard
SOAP, OIL = "soap", "oil"


def at(hours):
    return f"2026-07-06T{hours}:00-04:00"


def leg(kind, starts, until, **more):
    return {"kind": kind, "from": at(starts), "until": at(until), **more}


def way(start, end):
    minutes = abs(PLACES[start] - PLACES[end])
    return minutes * 60, minutes * 1000


@pytest.fixture
def legs():
    """Out to 1, on to 2, back to 3, and home."""
    return [
        leg("travel", "07:50", "08:00", metres=10_000),
        leg("work", "08:00", "09:00", visit=1),
        leg("travel", "09:00", "09:20", metres=20_000),
        leg("work", "09:20", "10:20", visit=2),
        leg("travel", "10:20", "10:30", metres=10_000),
        leg("wait", "10:30", "11:00"),
        leg("work", "11:00", "12:00", visit=3),
        leg("travel", "12:00", "12:20", metres=20_000),
    ]


def short(legs):
    return [(each["kind"], each["from"][11:16], each["until"][11:16]) for each in legs]


def test_the_crew_drives_straight_on_and_comes_when_it_would_have_come(legs):
    left = legs_without(legs, 2, {}, way)

    assert short(left)[2:5] == [
        ("wait", "09:00", "10:20"),
        ("travel", "10:20", "10:30"),
        ("wait", "10:30", "11:00"),
    ]
    assert (left[2]["left"], left[3]["metres"]) == (True, 10_000)
    assert left[:2] + left[5:] == legs[:2] + legs[6:]


def test_a_way_that_takes_all_the_time_there_is_leaves_nothing_to_wait_for(legs):
    left = legs_without(legs, 2, {}, lambda *_ends: (5400, 60_000))

    assert short(left)[2:4] == [
        ("travel", "09:00", "10:30"),
        ("wait", "10:30", "11:00"),
    ]


def test_without_its_first_stop_a_crew_leaves_later(legs):
    left = legs_without(legs, 1, {}, way)

    assert short(left)[:2] == [("travel", "08:50", "09:20"), ("work", "09:20", "10:20")]
    assert leaves_and_returns(left)[0].isoformat() == at("08:50")


def test_without_its_last_stop_a_crew_is_back_earlier(legs):
    left = legs_without(legs, 3, {}, way)

    assert short(left)[-1] == ("travel", "10:20", "10:50")
    assert leaves_and_returns(left)[1].isoformat() == at("10:50")


def test_a_lunch_keeps_its_hour_and_is_taken_on_the_way(legs):
    lunch = [leg("lunch", "10:20", "10:50"), leg("travel", "10:50", "11:00", metres=10_000)]

    left = legs_without([*legs[:4], *lunch, *legs[6:]], 2, {}, lambda *_ends: (1800, 30_000))

    assert short(left)[2:6] == [
        ("wait", "09:00", "10:00"),
        ("travel", "10:00", "10:20"),
        ("lunch", "10:20", "10:50"),
        ("travel", "10:50", "11:00"),
    ]
    assert [each["metres"] for each in left if each["kind"] == "travel"][1:3] == [20_000, 10_000]


def test_a_lunch_in_the_yard_is_no_leaving_and_no_return(legs):
    legs = [
        leg("lunch", "07:00", "07:30"),
        *legs,
        leg("wait", "12:20", "12:30"),
        leg("lunch", "12:30", "13:00"),
    ]

    left = legs_without(legs, 2, {}, way)

    assert [each.isoformat() for each in leaves_and_returns(left)] == [at("07:50"), at("12:20")]


def test_stops_of_one_place_are_driven_to_once(legs):
    here = [legs[0], legs[1], leg("work", "09:00", "09:30", visit=4), *legs[2:]]

    left = legs_without(here, 1, {}, lambda a, b: way(1 if a == 4 else a, 1 if b == 4 else b))

    assert short(left)[:2] == [("travel", "08:50", "09:00"), ("work", "09:00", "09:30")]


def test_of_two_stops_at_one_place_the_first_stays_when_the_second_leaves(legs):
    # 10 minutes from the yard to the place, 20 on to the next stop
    here = [legs[0], legs[1], leg("work", "09:00", "09:30", visit=4)]
    on = [leg("travel", "09:30", "09:50", metres=20_000), leg("work", "09:50", "10:50", visit=2)]
    home = [leg("travel", "10:50", "11:20", metres=30_000)]

    left = legs_without([*here, *on, *home], 4, {}, way)

    assert short(left)[:4] == [
        ("travel", "07:50", "08:00"),
        ("work", "08:00", "09:00"),
        ("wait", "09:00", "09:30"),
        ("travel", "09:30", "09:50"),
    ]


def test_a_route_that_two_stops_leave_is_told_as_if_both_had_left_at_once(legs):
    left = legs_without(legs_without(legs, 1, {}, way), 2, {}, way)

    assert short(left) == [
        ("travel", "10:10", "10:30"),
        ("wait", "10:30", "11:00"),
        ("work", "11:00", "12:00"),
        ("travel", "12:00", "12:20"),
    ]


@pytest.mark.parametrize(
    ("mixes", "rinsed", "then"),
    [
        # before, what is rinsed after, and what is once the second stop has left
        ({1: SOAP, 2: OIL, 3: SOAP}, [1, 2], []),
        ({1: SOAP, 2: SOAP, 3: OIL}, [2], [1]),
        ({1: SOAP, 2: OIL, 3: OIL}, [1], [1]),
        ({1: SOAP, 3: OIL}, [1], [1]),
        ({2: SOAP, 3: OIL}, [2], []),
        ({1: SOAP, 2: OIL}, [1], []),
    ],
)
def test_the_sprayer_is_rinsed_where_it_now_must_be(mixes, rinsed, then):
    legs = [
        leg("travel", "07:50", "08:00"),
        leg("work", "08:00", "09:00", visit=1),
        leg("rinse", "09:00", "09:10", after=1, gallons="1.2"),
        leg("travel", "09:10", "09:30"),
        leg("work", "09:30", "10:30", visit=2),
        leg("rinse", "10:30", "10:40", after=2, gallons="1.2"),
        leg("travel", "10:40", "10:50"),
        leg("work", "10:50", "12:00", visit=3),
        leg("travel", "12:00", "12:20"),
    ]
    legs = [each for each in legs if each.get("after", rinsed[0]) in rinsed]

    left = legs_without(legs, 2, mixes, way)

    assert [(each["after"], each["gallons"]) for each in left if each["kind"] == "rinse"] == [
        (visit, "1.2") for visit in then
    ]


def test_a_sprayer_is_rinsed_where_it_was_used_and_the_crew_then_drives(legs):
    rinse = leg("rinse", "10:20", "10:30", after=2, gallons="1.2")
    mixes = {1: SOAP, 2: SOAP, 3: OIL}

    then = [leg("travel", "10:30", "10:40"), leg("wait", "10:40", "11:00")]
    left = legs_without([*legs[:4], rinse, *then, *legs[6:]], 2, mixes, way)

    assert short(left)[2:5] == [
        ("rinse", "09:00", "09:10"),
        ("wait", "09:10", "10:30"),
        ("travel", "10:30", "10:40"),
    ]


def test_where_a_rinse_is_wanted_no_more_before_another_stop_the_crew_waits():
    # nothing is sprayed at 3, so the soap of 1 would have met the oil of 2
    legs = [
        leg("travel", "07:50", "08:00", metres=10_000),
        leg("work", "08:00", "09:00", visit=1),
        leg("rinse", "09:00", "09:10", after=1, gallons="1.2"),
        leg("travel", "09:10", "09:20", metres=10_000),
        leg("work", "09:20", "10:20", visit=3),
        leg("travel", "10:20", "10:30", metres=10_000),
        leg("work", "10:30", "11:30", visit=2),
        leg("travel", "11:30", "12:00", metres=30_000),
    ]

    left = legs_without(legs, 2, {1: SOAP, 2: OIL}, way)

    assert short(left)[1:] == [
        ("work", "08:00", "09:00"),
        ("wait", "09:00", "09:10"),
        ("travel", "09:10", "09:20"),
        ("work", "09:20", "10:20"),
        ("travel", "10:20", "10:40"),
    ]


@pytest.mark.parametrize(("lunch", "rinse"), [("09:10", "09:00"), ("09:05", "09:35")])
def test_a_rinse_that_is_done_before_lunch_comes_before_it(legs, lunch, rinse):
    eaten = {"09:10": "09:40", "09:05": "09:35"}[lunch]
    before = [leg("wait", "09:00", lunch), leg("lunch", lunch, eaten)]
    after = [
        leg("travel", eaten, "10:00", metres=20_000),
        leg("work", "10:00", "10:20", visit=2),
        leg("rinse", "10:20", "10:30", after=2, gallons="1.2"),
        leg("travel", "10:30", "10:40", metres=10_000),
        leg("wait", "10:40", "11:00"),
    ]

    left = legs_without([*legs[:2], *before, *after, *legs[6:]], 2, {1: SOAP, 2: SOAP, 3: OIL}, way)

    assert next(starts for kind, starts, _ in short(left) if kind == "rinse") == rinse

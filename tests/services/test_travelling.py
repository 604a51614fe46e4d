"""Travel: asked of the one road server, kept, filled in where it is silent, and corrected."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
from django.core.cache import cache

from services import dispatching
from services.fetching import FetchFailed
from services.models import Dispatch, RoadWay, Visit
from services.rules.plan_checking import check_plan
from services.rules.plans import CrewShift, Stop
from services.rules.routing import plan_day
from services.rules.travel import Point, road_matrix
from services.travelling import Travelled, drives_recorded, driving_learned, travel_between

NOW = datetime(2026, 7, 6, 10, tzinfo=UTC)
YARD, BED, HALL = Point(40.22, -74.8), Point(40.25, -74.85), Point(40.26, -74.9)
MINUTE = timedelta(minutes=1)


@pytest.fixture(autouse=True)
def server_is_not_left_alone():
    """Forget between tests that a server failed."""
    cache.clear()
    yield
    cache.clear()


@pytest.fixture
def asked(settings, monkeypatch, db):
    """A road server on which every way takes ten minutes; return what it was asked."""
    settings.ROADS, settings.ROADS_KIND = "http://roads:5000/car", "osrm"
    seen = []

    def answer(source, path, *, body=None):
        seen.append((source, path))
        size = path.count(",") - 1, path.partition("sources=")[2].partition("&")[0].count(";") + 1
        starts, ends = size[1], size[0] - size[1]
        return {
            "code": "Ok",
            "durations": [[600.0] * ends for _ in range(starts)],
            "distances": [[9000.0] * ends for _ in range(starts)],
        }

    monkeypatch.setattr("services.travelling.ways.fetch_json", answer)
    return seen


def silent(*_args, **_options):
    raise FetchFailed("The answer is 503; only 200 is taken.")


def test_without_a_road_server_ways_are_reckoned_and_nobody_is_asked(asked, settings):
    settings.ROADS = ""
    travel = Travelled({}, NOW)

    assert travel([YARD, BED]) == road_matrix([YARD, BED])
    assert not travel.is_reckoned(YARD, BED)
    assert asked == []


def test_the_server_of_the_settings_is_asked_and_may_stand_in_the_own_network(asked):
    Travelled({}, NOW)([YARD, BED])
    source, path = asked[0]

    assert (source.host, source.port, source.may_be_private) == ("roads", 5000, True)
    assert path.startswith("/car/table/v1/driving/-74.80000,40.22000;")


def test_a_way_takes_what_the_server_tells_and_the_minutes_for_gate_and_parking(asked):
    told = Travelled({}, NOW)([YARD, BED])

    assert told.seconds == ((0, 720), (720, 0))
    assert told.metres == ((0, 9000), (9000, 0))


def test_a_way_is_asked_for_once_and_kept(asked):
    Travelled({}, NOW)([YARD, BED])
    Travelled({}, NOW + 89 * 24 * 60 * MINUTE)([BED, YARD])

    assert len(asked) == 1
    assert RoadWay.objects.count() == 2


def test_a_way_that_was_told_long_ago_is_asked_for_again(asked):
    Travelled({}, NOW)([YARD, BED])
    Travelled({}, NOW + timedelta(days=91))([YARD, BED])

    assert len(asked) == 2
    assert RoadWay.objects.count() == 2


def test_what_another_server_told_does_not_count(asked, settings):
    Travelled({}, NOW)([YARD, BED])
    settings.ROADS = "http://others:5000"
    Travelled({}, NOW)([YARD, BED])

    assert len(asked) == 2


def test_many_points_are_asked_for_in_blocks(asked):
    Travelled({}, NOW)([Point(40, number / 100) for number in range(-60, 0)])

    assert len(asked) == 4  # fifty and ten, each with each
    assert max(path.partition("?")[0].count(";") for _source, path in asked) == 99


def test_a_server_that_fails_leaves_every_way_to_be_reckoned_and_is_left_alone(asked, monkeypatch):
    monkeypatch.setattr("services.travelling.ways.fetch_json", silent)
    travel = Travelled({}, NOW)

    assert travel([YARD, BED]) == road_matrix([YARD, BED])
    assert travel.is_reckoned(YARD, BED)
    assert not RoadWay.objects.exists()

    monkeypatch.undo()
    assert cache.get("road-server-failed")


def test_one_way_that_the_server_does_not_know_is_reckoned_alone(asked, monkeypatch):
    def gap(*_args, **_options):
        rows = [[0.0, 600.0], [None, 0.0]]
        return {"code": "Ok", "durations": rows, "distances": rows}

    monkeypatch.setattr("services.travelling.ways.fetch_json", gap)
    travel = Travelled({}, NOW)
    told = travel([YARD, BED])

    assert told.seconds[0][1] == 720
    assert told.seconds[1][0] == road_matrix([BED, YARD]).seconds[0][1]
    assert (travel.is_reckoned(YARD, BED), travel.is_reckoned(BED, YARD)) == (False, True)


def test_a_plan_over_one_way_roads_holds_by_the_same_travel():
    def uneven(points):
        order = sorted(points, key=lambda point: point.longitude)
        plain = road_matrix(points)
        rows = [
            [
                cell * (2 if order.index(a) > order.index(b) else 1)
                for b, cell in zip(points, row, strict=True)
            ]
            for a, row in zip(points, plain.seconds, strict=True)
        ]
        return type(plain)(tuple(map(tuple, rows)), plain.metres)

    stops = [Stop(str(n), at, ((25_200, 50_000),), 1800) for n, at in enumerate([BED, HALL])]
    crew = CrewShift("Crew", YARD, starts=25_200, ends=61_200)
    plan = plan_day(stops, [crew], travel=uneven)

    assert check_plan(plan, stops, [crew], travel=uneven) == []
    assert plan.left_out == ()


@pytest.fixture
def route(visits, soap_lot, oil_lot, calibration, crew, owner, on_monday):
    """Dispatch the first visit for Monday; return the route."""

    def dispatched():
        plan = dispatching.dispatch_day(day=on_monday, visits=[visits[0]], by=owner, now=NOW)
        return plan.dispatches[0]

    return dispatched


def test_a_route_says_which_ways_the_server_did_not_tell(asked, monkeypatch, route, client, owner):
    monkeypatch.setattr("services.travelling.ways.fetch_json", silent)
    made = route()
    client.force_login(owner)
    page = client.get("/day/2026-07-06/").content.decode()

    assert made.travel["untold"] == ["Ferry yard – Library", "Library – Ferry yard"]
    assert "The road server told no way for these" in page


def test_a_route_by_the_road_server_drives_as_it_tells(asked, route):
    made = route()
    drives = [leg for leg in made.legs if leg["kind"] == "travel"]

    assert [leg["metres"] for leg in drives] == [9000, 9000]
    assert made.travel == {"by": "roads", "factor": 1.0, "untold": []}


def test_a_route_without_a_server_says_nothing(settings, route, client, owner):
    made = route()
    client.force_login(owner)

    assert made.travel == {"by": "straight", "factor": 1.0, "untold": []}
    assert "The road server told no way" not in client.get("/day/2026-07-06/").content.decode()


def leg(kind, starts, minutes, visit=None):
    told = {
        "kind": kind,
        "from": starts.isoformat(),
        "until": (starts + minutes * MINUTE).isoformat(),
    }
    return told | ({"visit": visit} if visit else {})


LEGS = [
    leg("travel", NOW, 10),
    leg("work", NOW + 10 * MINUTE, 30, visit=1),
    leg("travel", NOW + 40 * MINUTE, 12),
    leg("work", NOW + 52 * MINUTE, 30, visit=2),
    leg("travel", NOW + 82 * MINUTE, 10),
    leg("wait", NOW + 92 * MINUTE, 20),
    leg("work", NOW + 112 * MINUTE, 30, visit=3),
]


def hours(left, came):
    return {
        1: (NOW, NOW + left * MINUTE),
        2: (NOW + came * MINUTE, NOW + 100 * MINUTE),
        3: (None, None),
    }


def test_a_drive_is_recorded_between_two_stops_with_nothing_else_between():
    assert drives_recorded(LEGS, {}, hours(40, 58)) == [(18 * 60, 12 * 60)]


def test_a_drive_is_held_against_what_was_reckoned_before_the_correction():
    assert drives_recorded(LEGS, {"factor": 1.5}, hours(40, 58)) == [(18 * 60, 8 * 60)]


@pytest.mark.parametrize(("left", "came"), [(40, 40), (40, 30), (40, 40 + 181)])
def test_what_was_no_drive_alone_is_not_recorded(left, came):
    assert drives_recorded(LEGS, {}, hours(left, came)) == []


def test_a_visit_without_its_hours_records_no_drive():
    assert drives_recorded(LEGS, {}, {1: (NOW, None)}) == []


def recorded(visits, crew, number, minutes):
    """Record drives of so many minutes, reckoned at twelve, on days before now."""
    for day in range(number):
        legs = [
            each | ({"visit": visits[each["visit"] - 1].pk} if "visit" in each else {})
            for each in LEGS[:4]
        ]
        Dispatch.objects.create(
            crew=crew,
            day=(NOW - timedelta(days=day + 1)).date(),
            made_at=NOW,
            leaves_yard_at=NOW,
            returns_at=NOW,
            legs=legs,
        )
    at = Visit.objects.filter(pk=visits[0].pk)
    at.update(
        state="COMPLETED",
        started_at=NOW,
        completed_at=NOW + 40 * MINUTE,
        dispatch=Dispatch.objects.earliest("day"),
    )
    Visit.objects.filter(pk=visits[1].pk).update(
        started_at=NOW + (40 + minutes) * MINUTE, dispatch=Dispatch.objects.earliest("day")
    )


@pytest.mark.parametrize(("number", "factor"), [(19, 1.0), (20, 1.5)])
def test_a_yard_learns_from_twenty_drives(visits, crew, yard, number, factor):
    recorded(visits, crew, number, 18)
    learned = driving_learned([yard], NOW)[0]

    assert (learned.drives, learned.factor, learned.is_used()) == (number, factor, number >= 20)


def test_a_plan_allows_for_what_was_learned_and_the_day_says_so(
    visits, crew, yard, client, owner, on_monday
):
    recorded(visits, crew, 20, 18)
    told = travel_between([yard], NOW)([YARD, BED])
    client.force_login(owner)
    crew.dispatches.create(
        day=on_monday, made_at=NOW, leaves_yard_at=NOW, returns_at=NOW + MINUTE, legs=[]
    )
    page = client.get("/day/2026-07-06/").content.decode()

    plain = road_matrix([YARD, BED]).seconds[0][1]
    assert abs(told.seconds[0][1] - Decimal("1.5") * plain) < 1
    assert "takes 1.5 times as long as reckoned, by the median of 20 recorded drives" in page


def test_too_few_drives_are_told_as_too_few(visits, crew, client, owner, on_monday):
    recorded(visits, crew, 3, 18)
    crew.dispatches.create(
        day=on_monday, made_at=NOW, leaves_yard_at=NOW, returns_at=NOW + MINUTE, legs=[]
    )
    client.force_login(owner)

    assert "3 drives are recorded, too few" in client.get("/day/2026-07-06/").content.decode()

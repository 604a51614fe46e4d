"""Routes of a day on a straight road, checked by hand."""

from decimal import Decimal

import pytest

from services.rules.plan_checking import check_plan
from services.rules.plans import (
    FULL,
    ON_THE_SPOT,
    HaltKind,
    ImpossiblePlan,
    certificate,
    equipment,
)
from services.rules.routing import plan_day
from services.rules.travel import Point, road_matrix
from treatments.rules.findings import Finding, Severity

ITERATIONS = 50


@pytest.fixture
def planned(road):
    """Return a maker of plans on the straight road."""

    def make(stops, shifts, **changes):
        return plan_day(stops, shifts, **{"iterations": ITERATIONS, "travel": road} | changes)

    return make


def reason(plan, key):
    return next(left.reason for left in plan.left_out if left.key == key)


def order(plan, crew="Crew A"):
    return [
        halt.kind.value if halt.kind is not HaltKind.STOP else halt.key
        for route in plan.routes
        if route.shift_key == crew
        for halt in route.halts
    ]


def test_a_crew_leaves_in_time_for_its_first_stop_and_no_earlier(planned, stop, crew):
    plan = planned([stop(hours=((9, 10),))], [crew()])

    (route,) = plan.routes
    assert route.leaves == 9 * 3600 - 600
    assert (route.halts[0].arrives, route.halts[0].waits) == (9 * 3600, 0)


def test_a_route_tells_when_it_arrives_starts_leaves_and_returns(planned, stop, crew):
    near, far = stop("near", 10, ((7, 8),)), stop("far", 25, ((9, 10),))

    (route,) = planned([near, far], [crew()]).routes

    # 07:00 out, 07:10 to 07:40 at near, 07:55 at far, waits until 09:00, 09:30 off, 09:55 back.
    times = [(h.arrives // 60, h.starts // 60, h.leaves // 60) for h in route.halts]
    assert times == [(430, 430, 460), (475, 540, 570)]
    assert route.halts[1].waits == 65 * 60
    assert (route.returns // 60, route.travel_seconds // 60) == (595, 50)


def test_the_cost_is_the_driving_and_what_is_left_out(planned, stop, crew):
    out_of_hours = stop("night", hours=((22, 23),), prize_seconds=700)

    plan = planned([stop(), out_of_hours], [crew()])

    assert plan.cost_seconds == 2 * 600 + 700


def test_the_crew_with_the_certificate_goes(planned, stop, crew):
    roses = stop(needs=frozenset({certificate("3A")}))
    certified = crew("Crew B", has=frozenset({certificate("3A")}))

    plan = planned([roses], [crew(), certified])

    assert [route.shift_key for route in plan.routes] == ["Crew B"]


def test_a_stop_without_a_certified_crew_says_so(planned, stop, crew):
    plan = planned([stop(needs=frozenset({certificate("3A")}))], [crew()])

    assert reason(plan, "roses").code == "no-crew-with-certificate"
    assert "certificate 3A" in reason(plan, "roses").say()


@pytest.mark.parametrize(
    ("more", "code"),
    [
        ("", "no-crew-with-certificate"),
        (FULL, "no-crew-with-full-certificate"),
        (ON_THE_SPOT, "no-holder-on-crew"),
        (FULL + ON_THE_SPOT, "no-holder-on-crew"),
    ],
)
def test_what_else_the_certificate_must_be_is_said_in_words(planned, stop, crew, more, code):
    plan = planned([stop(needs=frozenset({certificate(f"3A@US-FL{more}")}))], [crew()])

    found = reason(plan, "roses")
    assert (found.code, found.facts["needs"]) == (code, "3A (US-FL)")
    assert "@" not in found.say()


def test_a_stop_without_the_equipment_says_so(planned, stop, crew):
    plan = planned([stop(needs=frozenset({equipment("injector")}))], [crew()])

    assert reason(plan, "roses").code == "no-crew-with-equipment"


def test_the_certificate_is_named_before_the_equipment(planned, stop, crew):
    needs = frozenset({certificate("3A"), equipment("injector")})

    plan = planned([stop(needs=needs)], [crew()])

    assert reason(plan, "roses").code == "no-crew-with-certificate"


def test_a_stop_without_an_hour_says_so(planned, stop, crew):
    assert reason(planned([stop(hours=())], [crew()]), "roses").code == "no-window"


def test_a_reason_for_having_no_hour_is_passed_on(planned, stop, crew):
    windy = Finding("held-for-wind", Severity.WARNING, "Held for wind.")

    plan = planned([stop(hours=(), no_window=windy)], [crew()])

    assert reason(plan, "roses") is windy


# The crew is back at 15:30 at the latest: 30 min of work and 10 min of road allow 14:50.
@pytest.mark.parametrize(("opens", "left_out"), [(14 + 50 / 60, 0), (14 + 51 / 60, 1)])
def test_a_window_after_the_shift_is_left_out_and_one_at_its_end_is_not(
    planned, stop, crew, opens, left_out
):
    plan = planned([stop(hours=((opens, 16),))], [crew()])

    assert len(plan.left_out) == left_out
    assert all(left.reason.code == "window-outside-shifts" for left in plan.left_out)


# The first stop is reached at 07:10 at the earliest.
@pytest.mark.parametrize(("closes", "left_out"), [(7 + 10 / 60, 0), (7 + 9 / 60, 1)])
def test_a_window_that_closes_before_a_crew_can_come_is_left_out(
    planned, stop, crew, closes, left_out
):
    assert len(planned([stop(hours=((6, closes),))], [crew()]).left_out) == left_out


@pytest.mark.parametrize(("gallons", "left_out"), [("100", 0), ("100.1", 1)])
def test_a_stop_takes_a_full_tank_and_no_more(planned, stop, crew, gallons, left_out):
    plan = planned([stop(spray_gallons=Decimal(gallons))], [crew()])

    assert len(plan.left_out) == left_out
    assert all(left.reason.code == "more-than-a-tank" for left in plan.left_out)


def test_part_of_a_tenth_of_a_gallon_counts_as_a_tenth(planned, stop, crew):
    small = crew(tank_gallons=Decimal("0.1"), maximum_refills=0)
    drops = [stop(key, spray_gallons=Decimal("0.01")) for key in ("one", "two")]

    assert len(planned(drops, [small]).left_out) == 1


def test_a_tank_is_refilled_at_the_yard(planned, stop, crew):
    halves = [stop(key, spray_gallons=Decimal(60)) for key in ("one", "two")]

    plan = planned(halves, [crew()])

    assert order(plan) in (["one", "refill", "two"], ["two", "refill", "one"])
    refill = plan.routes[0].halts[1]
    assert refill.leaves - refill.starts == 1_200


def test_a_truck_that_may_not_refill_leaves_a_stop_out(planned, stop, crew):
    halves = [stop(key, spray_gallons=Decimal(60)) for key in ("one", "two")]

    plan = planned(halves, [crew(maximum_refills=0)])

    assert [left.reason.code for left in plan.left_out] == ["no-room-unless"]


SOAP = {"mix": "soap", "rinse_seconds": 600, "rinse_gallons": Decimal(15)}
OIL = SOAP | {"mix": "oil"}


def test_between_two_mixes_the_sprayer_is_rinsed_where_it_was_used(planned, stop, crew):
    stops = [stop("roses", 10, ((7, 8),), **SOAP), stop("hedge", 25, ((8, 16),), **OIL)]

    (route,) = planned(stops, [crew()]).routes

    # 07:00 out, 07:10 to 07:40 at the roses, rinsed by 07:50, 08:05 at the hedge.
    halts = [(halt.kind.value, halt.key, halt.starts // 60) for halt in route.halts]
    assert halts == [("stop", "roses", 430), ("rinse", "roses", 460), ("stop", "hedge", 485)]


def test_what_is_sprayed_alike_is_made_together_to_save_rinses(planned, stop, crew):
    # Each rinse takes an hour, and the day has time for the stops and for one rinse.
    slow = {"rinse_seconds": 3_600, "service_seconds": 4_500}
    stops = [stop(f"{n}", 0, **(SOAP, OIL)[n % 2] | slow) for n in range(6)]

    plan = planned(stops, [crew()])

    assert plan.left_out == ()
    assert order(plan).count("rinse") == 1


def test_the_water_of_a_rinse_may_ask_for_a_refill(planned, stop, crew):
    def kinds(gallons):
        half = {"spray_gallons": Decimal(gallons)}
        stops = [stop("roses", **SOAP | half), stop("hedge", **OIL | half)]
        return order(planned(stops, [crew()]))

    assert "refill" not in kinds("42.5")  # twice that and 15 gal fill the tank of 100 gal
    assert "refill" in kinds("42.6")


def test_after_a_stop_that_sprays_nothing_the_sprayer_still_holds_what_it_held(planned, stop, crew):
    hours = [((7, 7.5),), ((8, 8.5),), ((9, 10),)]
    kinds = [SOAP, {}, OIL]
    stops = [stop(f"{n}", 5, hours[n], **kinds[n]) for n in range(3)]

    assert order(planned(stops, [crew()])) == ["0", "rinse", "1", "2"]


def test_plantings_of_one_client_that_take_different_mixes_are_rinsed_between(planned, stop, crew):
    beds = [stop("roses", client="library", **SOAP), stop("hedge", client="library", **OIL)]

    (route,) = planned(beds, [crew()]).routes

    assert [halt.kind.value for halt in route.halts] == ["stop", "rinse", "stop"]


def test_a_stop_without_room_names_the_one_that_would_give_way(planned, stop, crew):
    urgent = stop("urgent", hours=((8, 8),), service_seconds=3_600, priority=2)
    usual = stop("usual", hours=((8, 8),), service_seconds=3_600)

    plan = planned([usual, urgent], [crew()])

    assert reason(plan, "usual").code == "no-room-unless"
    assert "Crew A could take it in place of urgent" in reason(plan, "usual").say()


def test_a_stop_that_two_others_would_have_to_give_way_for_says_the_days_are_full(
    planned, stop, crew
):
    fixed = [stop("early", hours=((8, 8),)), stop("late", hours=((12, 12),))]
    long = stop("long", 0, hours=((7.5, 8.1),), service_seconds=7 * 3_600, prize_seconds=60)

    plan = planned([*fixed, long], [crew()])

    assert reason(plan, "long").code == "no-room"


def test_a_stop_outside_all_shifts_names_its_hours(planned, stop, crew):
    plan = planned([stop("roses", hours=((16, 17.5),))], [crew()])

    assert "16:00-17:30" in reason(plan, "roses").say()


def test_a_stop_that_takes_just_a_tank_is_not_left_out_for_that(planned, stop, crew):
    roses = stop("roses", spray_gallons=Decimal(100), prize_seconds=1_200)

    assert reason(planned([roses], [crew()]), "roses").code == "detour-too-long"


@pytest.mark.parametrize(("prize", "left_out"), [(1_201, 0), (1_200, 1)])
def test_a_stop_is_made_where_it_counts_more_than_its_detour(planned, stop, crew, prize, left_out):
    plan = planned([stop(prize_seconds=prize)], [crew()])

    assert len(plan.left_out) == left_out
    assert all(left.reason.code == "detour-too-long" for left in plan.left_out)


def test_priority_and_the_last_day_decide_who_is_left_out(planned, stop, crew):
    same_hour = {"hours": ((8, 8),), "service_seconds": 3_600}
    stops = [stop("usual", **same_hour), stop("last", last_day=True, **same_hour)]

    assert [left.key for left in planned(stops, [crew()]).left_out] == ["usual"]


def test_lunch_is_taken_in_the_gap_that_delays_nobody(planned, stop, crew):
    stops = [stop("early", hours=((11, 11.25),)), stop("late", hours=((13, 13),))]

    plan = planned(stops, [crew(lunch_seconds=1_800)])

    lunch = plan.routes[0].lunch
    assert 11.5 * 3600 <= lunch.starts <= 13.5 * 3600
    assert [halt.starts for halt in plan.routes[0].stops] == [11 * 3600, 13 * 3600]


@pytest.mark.parametrize(("ends", "window"), [(12.5, (43_200, 43_200)), (12.25, None)])
def test_lunch_may_fill_a_shift_to_its_last_minute(crew, ends, window):
    assert crew(starts=12, ends=ends, lunch_seconds=1_800).lunch_window() == window


def test_a_stop_gives_way_where_lunch_would_not_fit(planned, stop, crew):
    # Three times 90 min from 11:00, the last to start at 14:00 sharp: no half hour between.
    hours = [((11, 11),), ((12.5, 12.5),), ((14, 14),)]
    stops = [stop(str(n), 0, h, service_seconds=5_400) for n, h in enumerate(hours)]

    with_lunch = planned(stops, [crew(starts=11, ends=15.5, lunch_seconds=1_800)])
    without = planned(stops, [crew(starts=11, ends=15.5)])

    assert (len(without.left_out), len(with_lunch.left_out)) == (0, 1)
    assert with_lunch.routes[0].lunch


def test_a_crew_that_sets_out_at_dusk_has_eaten_before(planned, stop, crew, road):
    late_crew = crew(starts=11, ends=20.5, lunch_seconds=1_800)

    plan = planned([stop(hours=((19, 20),))], [late_crew])

    (route,) = plan.routes
    assert route.lunch.leaves <= route.leaves
    assert check_plan(plan, [stop(hours=((19, 20),))], [late_crew], travel=road) == []


def test_the_plantings_of_a_client_are_treated_one_after_the_other(planned, stop, crew):
    bed = [stop(f"bed {n}", 10, client="library") for n in range(3)]
    others = [stop(f"hedge {n}", minute) for n, minute in enumerate([10, 12, 8])]

    keys = order(planned(bed + others, [crew()]))

    first = keys.index("bed 0")
    assert keys[first : first + 3] == ["bed 0", "bed 1", "bed 2"]


def test_plantings_too_many_for_one_crew_are_still_treated(planned, stop, crew):
    beds = [stop(f"bed {n}", client="library", service_seconds=4 * 3_600) for n in range(3)]

    plan = planned(beds, [crew(), crew("Crew B")])

    assert plan.left_out == ()


def test_the_same_seed_gives_the_same_plan_whatever_the_order_asked_in(planned, stop, crew):
    stops = [stop(f"s{n}", (7 * n) % 31 - 15) for n in range(12)]
    shifts = [crew(), crew("Crew B", starts=9, ends=17)]

    assert planned(stops, shifts, seed=3) == planned(stops[::-1], shifts[::-1], seed=3)


def test_the_least_driving_is_found(planned, stop, crew):
    stops = [stop(str(minute), minute) for minute in (20, -10, 5, 15, -5)]

    # Out to +20 and back, out to -10 and back: 60 min.
    assert planned(stops, [crew()]).cost_seconds == 60 * 60


def test_a_day_without_stops_or_without_crews_has_no_routes(planned, stop, crew):
    assert planned([], [crew()]).routes == ()
    assert [left.key for left in planned([stop()], []).left_out] == ["roses"]


def test_two_stops_of_one_key_are_refused(planned, stop, crew):
    with pytest.raises(ImpossiblePlan, match="key of its own"):
        planned([stop(), stop()], [crew()])


def test_a_window_that_closes_before_it_opens_is_refused(stop):
    with pytest.raises(ImpossiblePlan, match="closes before it opens"):
        stop(hours=((9, 8),))


def test_without_a_road_server_the_roads_are_reckoned(stop, crew):
    bed = stop()
    near = Point(0.02, 0)

    plan = plan_day([type(bed)("roses", near, bed.windows, 1_800)], [crew()], iterations=10)

    seconds = road_matrix([Point(0, 0), near]).seconds[0][1]
    assert plan.routes[0].halts[0].drive_seconds == seconds

"""Every fault that a plan can have is found, and no plan that is made has one."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from services.rules.plan_checking import check_plan
from services.rules.plans import (
    CrewShift,
    Halt,
    HaltKind,
    LeftOut,
    Plan,
    Route,
    Stop,
    certificate,
    equipment,
)
from services.rules.routing import plan_day, plan_days
from services.rules.travel import Matrix, Point
from treatments.rules.findings import Finding, Severity

SEVEN, EIGHT = 7 * 3600, 8 * 3600


def at(minute):
    return Point(0, float(minute))


def straight_road(points):
    rows = tuple(tuple(round(60 * abs(a.longitude - b.longitude)) for b in points) for a in points)
    return Matrix(seconds=rows, metres=rows)


ROSES = Stop("roses", at(10), ((EIGHT, EIGHT + 3600),), 1_800, spray_gallons=Decimal(60))
HEDGE = Stop("hedge", at(20), ((EIGHT, EIGHT + 7200),), 1_800, spray_gallons=Decimal(60))
CREW = CrewShift("Crew A", at(0), SEVEN, SEVEN + 6 * 3600, lunch_seconds=1_800)
HALTS = (
    Halt(HaltKind.STOP, "roses", EIGHT, EIGHT, EIGHT + 1_800, 600, 600),
    Halt(HaltKind.REFILL, "", EIGHT + 2_400, EIGHT + 2_400, EIGHT + 3_600, 600, 600),
    Halt(HaltKind.STOP, "hedge", EIGHT + 4_800, EIGHT + 4_800, EIGHT + 6_600, 1_200, 1_200),
    Halt(HaltKind.LUNCH, "", 41_400, 41_400, 43_200),
)
ROUTE = Route("Crew A", EIGHT - 600, HALTS, EIGHT + 7_800, 1_200, 1_200)
GOOD = Plan((ROUTE,), (), 3_600)


def codes(route=ROUTE, *, stops=(ROSES, HEDGE), crew=CREW, **plan):
    found = check_plan(replace(GOOD, routes=(route,), **plan), stops, [crew], travel=straight_road)
    return {finding.code for finding in found}


def changed(number, **changes):
    halts = list(HALTS)
    halts[number] = replace(halts[number], **changes)
    return replace(ROUTE, halts=tuple(halts))


def test_a_plan_that_holds_has_no_faults():
    assert codes() == set()


def test_work_outside_its_hours_is_found():
    late = replace(ROSES, windows=((EIGHT + 1, EIGHT + 2),))

    assert codes(stops=[late, HEDGE]) == {"outside-window"}


def test_work_at_the_ends_of_its_hours_is_allowed():
    sharp = replace(ROSES, windows=((EIGHT, EIGHT),))

    assert codes(stops=[sharp, HEDGE]) == set()


def test_a_drive_quicker_than_the_road_is_found():
    assert codes(replace(ROUTE, leaves=EIGHT - 599)) == {"too-quick"}


@pytest.mark.parametrize(("halt", "early", "name"), [(0, 599, "roses"), (1, 0, "refill")])
def test_a_drive_that_is_too_quick_names_where_it_leads(halt, early, name):
    route = replace(ROUTE, leaves=EIGHT - early) if early else changed(halt, drive_seconds=599)

    (finding,) = check_plan(
        replace(GOOD, routes=(route,)), [ROSES, HEDGE], [CREW], travel=straight_road
    )

    assert f"would reach {name} quicker" in finding.say()


def test_a_return_quicker_than_the_road_is_found():
    assert codes(replace(ROUTE, returns=EIGHT + 7_799)) == {"too-quick"}


def test_work_cut_short_is_found():
    assert codes(changed(0, leaves=EIGHT + 1_799)) == {"too-short"}


def test_a_refill_cut_short_is_found():
    assert codes(changed(1, leaves=EIGHT + 3_599)) == {"refill-too-short"}


def test_an_empty_tank_is_found():
    thirsty = replace(ROSES, spray_gallons=Decimal("100.01"))

    assert codes(stops=[thirsty, HEDGE]) == {"tank-empty"}


def test_a_tank_emptied_to_the_last_drop_is_allowed():
    assert codes(stops=[replace(ROSES, spray_gallons=Decimal(100)), HEDGE]) == set()


def test_a_refilled_tank_may_be_emptied_to_the_last_drop_again():
    assert codes(stops=[ROSES, replace(HEDGE, spray_gallons=Decimal(100))]) == set()


def test_a_missing_certificate_is_found():
    needy = replace(ROSES, needs=frozenset({certificate("3A")}))

    assert codes(stops=[needy, HEDGE]) == {"need-not-met"}


@pytest.mark.parametrize("crew", [{"starts": EIGHT - 599}, {"ends": 43_199}])
def test_a_crew_out_of_its_shift_is_found(crew):
    assert "outside-shift" in codes(crew=replace(CREW, **crew))


def test_a_route_is_as_long_as_its_drives():
    # 10 minutes out, 10 back to the yard, 20 out and 20 back, of as many meters as seconds
    assert (ROUTE.travel_seconds, ROUTE.travel_metres) == (3_600, 3_600)


def test_a_missing_break_is_found():
    assert codes(replace(ROUTE, halts=HALTS[:-1])) == {"no-lunch"}


def test_a_break_cut_short_is_found():
    assert codes(changed(3, leaves=43_199)) == {"no-lunch"}


@pytest.mark.parametrize(("until", "found"), [(41_400, set()), (41_399, {"no-lunch"})])
def test_a_break_may_begin_at_the_last_moment_in_which_it_is_due(until, found):
    assert codes(crew=replace(CREW, lunch_from=41_000, lunch_until=until)) == found


def test_a_break_on_the_road_is_found():
    early = changed(3, arrives=EIGHT + 7_700, starts=EIGHT + 7_700, leaves=EIGHT + 9_500)

    assert codes(early) == {"no-lunch", "too-quick"}


@pytest.mark.parametrize(("early", "found"), [(0, set()), (1, {"too-quick"})])
def test_a_break_that_begins_on_the_return_is_taken_in_the_yard(early, found):
    starts = ROUTE.returns - early
    at_the_yard = changed(3, arrives=starts, starts=starts, leaves=starts + 1_800)

    assert codes(at_the_yard, crew=replace(CREW, lunch_from=starts)) == found


def test_a_stop_that_is_nowhere_is_found():
    assert codes(stops=[ROSES, HEDGE, replace(ROSES, key="lawn")]) == {"stop-not-once"}


def test_a_stop_both_made_and_left_out_is_found():
    reason = Finding("no-room", Severity.WARNING, "No room.")

    assert codes(left_out=(LeftOut("roses", reason),)) == {"stop-not-once"}


def test_a_stop_nobody_asked_for_is_found():
    assert codes(stops=[ROSES]) == {"stop-not-once"}


def test_a_crew_sent_twice_is_found():
    twice = replace(GOOD, routes=(ROUTE, replace(ROUTE, halts=HALTS[-1:])))

    found = check_plan(twice, [ROSES, HEDGE], [CREW], travel=straight_road)

    assert "shift-not-once" in {finding.code for finding in found}


SOAP = {"mix": "soap", "rinse_seconds": 600, "rinse_gallons": Decimal(15)}
SOAPED, OILED = replace(ROSES, **SOAP), replace(HEDGE, mix="oil")
RINSE = Halt(HaltKind.RINSE, "roses", EIGHT + 1_800, EIGHT + 1_800, EIGHT + 2_400)
LATER = [
    replace(halt, **{name: getattr(halt, name) + 600 for name in ("arrives", "starts", "leaves")})
    for halt in HALTS[1:3]
]
RINSED = replace(ROUTE, halts=(HALTS[0], RINSE, *LATER, HALTS[3]), returns=EIGHT + 8_400)


def test_a_stop_with_what_the_sprayer_held_before_is_found():
    assert codes(stops=[SOAPED, OILED]) == {"not-rinsed"}


@pytest.mark.parametrize("mix", ["soap", ""])
def test_the_same_mix_and_none_at_all_need_no_rinse(mix):
    assert codes(stops=[SOAPED, replace(OILED, mix=mix)]) == set()


def test_a_sprayer_that_was_rinsed_where_it_was_used_may_hold_another_mix():
    assert codes(RINSED, stops=[SOAPED, OILED]) == set()


def test_a_rinse_cut_short_is_found():
    slow = replace(SOAPED, rinse_seconds=601)

    assert codes(RINSED, stops=[slow, OILED]) == {"rinse-too-short"}


def test_the_water_of_a_rinse_is_drawn_from_the_tank():
    def with_spray(gallons):
        return [replace(SOAPED, spray_gallons=Decimal(gallons)), OILED]

    assert codes(RINSED, stops=with_spray("85")) == set()
    assert codes(RINSED, stops=with_spray("85.01")) == {"tank-empty"}


def test_a_rinse_of_a_stop_nobody_asked_for_is_found():
    strange = replace(RINSED, halts=(HALTS[0], replace(RINSE, key="lawn"), *RINSED.halts[2:]))

    assert "rinse-too-short" in codes(strange, stops=[SOAPED, OILED, replace(SOAPED, key="lawn")])


NEEDS = st.frozensets(st.sampled_from([certificate("3A"), equipment("injector")]))
HOURS = st.integers(0, 47)


@st.composite
def stops(draw):
    return [
        Stop(
            key=f"stop {number}",
            point=at(draw(st.integers(-40, 40))),
            windows=tuple(
                (opens * 3600, (opens + draw(st.integers(0, 6))) * 3600)
                for opens in draw(st.lists(HOURS, max_size=3, unique=True))
            ),
            service_seconds=draw(st.integers(0, 4 * 3600)),
            needs=draw(NEEDS),
            spray_gallons=draw(st.decimals(0, 120, places=2)),
            priority=draw(st.integers(0, 3)),
            last_day=draw(st.booleans()),
            client=draw(st.sampled_from(["", "", "library", "school"])),
            mix=draw(st.sampled_from(["", "soap", "oil"])),
            rinse_seconds=draw(st.sampled_from([0, 600])),
            rinse_gallons=draw(st.sampled_from([Decimal(0), Decimal(15)])),
        )
        for number in range(draw(st.integers(0, 9)))
    ]


@st.composite
def crews(draw):
    return [
        CrewShift(
            key=f"crew {number}",
            yard=at(draw(st.sampled_from([0, 15]))),
            starts=(starts := draw(HOURS) * 3600),
            ends=starts + draw(st.integers(0, 12)) * 3600,
            has=draw(NEEDS),
            tank_gallons=draw(st.decimals(0, 150, places=2)),
            refill_seconds=draw(st.sampled_from([0, 1200])),
            lunch_seconds=draw(st.sampled_from([0, 1800])),
            maximum_refills=draw(st.integers(0, 2)),
        )
        for number in range(draw(st.integers(0, 4)))
    ]


@settings(max_examples=150)
@given(stops(), crews(), st.integers(0, 5))
def test_no_plan_of_two_days_has_a_fault(stops, crews, seed):
    plan = plan_days(stops, crews, seed=seed, iterations=15, travel=straight_road)

    assert check_plan(plan, stops, crews, travel=straight_road) == []
    assert all(left.reason.say() for left in plan.left_out)


@settings(max_examples=25)
@given(stops(), crews())
def test_a_plan_is_the_same_when_made_again(stops, crews):
    once, again = (plan_day(stops, crews, iterations=15, travel=straight_road) for _ in "12")

    assert once == again

"""When stages of pests are out, by the heat of the season."""

from datetime import date, timedelta

import pytest

from treatments.rules import heat_cues
from treatments.rules.degree_days import DayTemperature, HeatDay, Scale, heat_of_days
from treatments.rules.heat_cues import CUE_HEAT, CueState, cues_of, dated_cues, next_cue
from treatments.rules.table_files import read_toml

MARCH = date(2026, 3, 1)


def season(heat, number, first=MARCH):
    return [HeatDay(first + timedelta(days=n), heat, heat * (n + 1)) for n in range(number)]


@pytest.mark.parametrize(
    ("pest", "event", "opens", "until"),
    [
        ("spruce spider mite", "overwintering eggs hatch", 162, None),  # [OSU-NURSERY]
        ("euonymus scale", "crawlers", 500, 700),  # [WI-DEGREE-DAYS]
        ("boxwood mite", "active", 450, 700),  # [RUTGERS-MITES]
        ("southern red mite", "adults", 1913, 3518),  # [DELAWARE-MITES]
        ("arborvitae leafminer", "larvae of the third brood", 1700, 2100),  # [MSU-DEGREE-DAYS]
    ],
)
def test_a_cue_stands_as_published(pest, event, opens, until):
    cue = next(cue for cue in cues_of(pest) if cue.event == event)

    assert (cue.opens, cue.until) == (opens, until)


@pytest.mark.parametrize(
    ("heat", "state"),
    [
        (499.9, CueState.AHEAD),
        (500, CueState.OPEN),
        (700, CueState.OPEN),
        (700.1, CueState.PAST),
    ],
)
def test_both_ends_of_a_window_are_open(heat, state):
    # [WI-DEGREE-DAYS] crawlers of euonymus scale 500 to 700
    assert cues_of("euonymus scale")[0].state_at(heat) is state


@pytest.mark.parametrize(("heat", "state"), [(194, CueState.OPEN), (195, CueState.PAST)])
def test_a_cue_of_which_no_end_is_published_lasts_a_fifth_longer(heat, state):
    # [OSU-NURSERY] eggs of spruce spider mite hatch at 162; the fifth is our own choice
    hatch = next(cue for cue in cues_of("spruce spider mite") if cue.opens == 162)

    assert hatch.state_at(heat) is state


@pytest.mark.parametrize(("heat", "opens"), [(0, 175), (175, 275), (374, 375), (375, None)])
def test_the_next_cue_lies_ahead(heat, opens):
    # [MSU-DEGREE-DAYS] birch leafminer
    cue = next_cue("birch leafminer", heat)

    assert (cue and cue.opens) == opens


def test_a_pest_without_cues_has_none():
    assert cues_of("no such pest") == ()


def test_a_cue_ahead_is_dated_by_the_heat_to_come():
    # 10 degree-days a day reach 500 on the fiftieth day
    (cue,) = dated_cues("euonymus scale", season(10, 60), today=MARCH + timedelta(days=20))

    assert (cue.state, cue.opens_on) == (CueState.AHEAD, MARCH + timedelta(days=49))
    assert cue.finding.say() == (
        "euonymus scale, crawlers: about 2026-04-19, at 500 degree-days over 50 °F."
    )


def test_a_cue_opens_on_its_day():
    (cue,) = dated_cues("euonymus scale", season(10, 60), today=MARCH + timedelta(days=49))

    assert (cue.state, cue.finding.code) == (CueState.OPEN, "cue-open")


def test_a_cue_out_of_sight_says_what_is_wanting():
    (cue,) = dated_cues("euonymus scale", season(10, 20), today=MARCH + timedelta(days=20))

    assert cue.finding.say().endswith("300 are wanting.")


def test_what_is_wanting_is_told_as_of_this_morning():
    # ten days of 10 are gathered, of 500
    (cue,) = dated_cues("euonymus scale", season(10, 20), today=MARCH + timedelta(days=10))

    assert cue.finding.say().endswith("400 are wanting.")


def test_heat_before_the_start_does_not_count():
    days = season(10, 60, first=MARCH - timedelta(days=30))

    (cue,) = dated_cues("euonymus scale", days, today=MARCH)

    assert (cue.state, cue.opens_on) == (CueState.AHEAD, None)


def test_a_past_cue_is_told_as_over():
    (cue,) = dated_cues("euonymus scale", season(10, 90), today=MARCH + timedelta(days=80))

    assert cue.finding.code == "cue-past"


def test_cues_count_heat_by_the_simple_average_over_fifty_degrees():
    # [UC-SIMPLE-DD] a mean of 64 over a base of 53 is 11; over 50 it is 14
    days = [DayTemperature(MARCH, 54, 74, Scale.FAHRENHEIT)]

    assert heat_of_days(days, CUE_HEAT)[0].heat == 14


def test_every_event_of_the_table_is_marked_for_the_translators():
    events = {row["event"] for row in read_toml("heat_cues")["cue"]}

    assert events <= set(heat_cues.EVENTS)

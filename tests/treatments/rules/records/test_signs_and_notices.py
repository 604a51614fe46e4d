"""Signs left on the property and notices sent before, state by state."""

from dataclasses import replace
from datetime import datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from treatments.rules.findings import Severity
from treatments.rules.records import (
    check_notice,
    design_of,
    known_with_own,
    notice_window,
    notices_for,
    posting_for,
    sign_stays_until,
    spacings_of,
)
from treatments.rules.records.notices import ABUTTING, ASKED, REGISTRY
from treatments.rules.records.signs import OwnSource, less_than_asked, own_design

DELAWARE_RIVER = ZoneInfo("America/New_York")
EVENING = datetime(2026, 6, 8, 20, 0, tzinfo=DELAWARE_RIVER)  # a Monday


@pytest.mark.parametrize(
    ("jurisdiction", "hours"),
    [
        ("US-NJ", 72),  # [NJAC-7-30-9-13]
        ("US-NY", 24),  # [NY-ECL-33]
        ("US-CT", 24),  # [CT-22A-66]
        ("US-MD", 48),  # [MD-5-208]
        ("US-MI", 24),  # [MI-285-637]
        ("US-OH", 24),  # [OH-901-5-11]
        ("US-ME", 48),  # [ME-26-28]
        ("US-WA", 24),  # [WA-17-21]
    ],
)
def test_signs_stay_for_the_states_hours(jurisdiction, hours):
    assert sign_stays_until(posting_for(jurisdiction), EVENING) == EVENING + timedelta(hours=hours)


def test_new_jerseys_sign_is_white_with_dark_letters_of_half_an_inch():
    # [NJAC-7-30-9-13] the overall size was not read and is not known
    sign = posting_for("US-NJ")

    assert (sign.background, sign.lettering, sign.letter_min_in) == (
        "white",
        "dark",
        Decimal("0.5"),
    )
    assert "Pesticide Treated Area" in sign.contents
    assert sign.width_in is None


def test_new_yorks_sign_is_yellow_with_letters_of_three_eighths():
    # [NY-ECL-33] yellow and black, 3/8 in letters, 5 by 4 in
    sign = posting_for("US-NY")

    assert (sign.background, sign.letter_min_in, sign.width_in) == ("yellow", Decimal("0.375"), 5)


def test_a_nursery_has_the_federal_sign():
    # [40CFR170] at least 14 by 16 in, letters of 1 in
    sign = posting_for("US-NJ", production_site=True)

    assert (sign.width_in, sign.height_in, sign.letter_min_in) == (14, 16, 1)
    assert sign.mark == "memory"


def test_workers_signs_stand_closer_the_smaller_they_are():
    # [WAC-296-307-120] no farther than 50 feet apart, of the smallest 25
    sign = posting_for("US-NJ", production_site=True)

    assert spacings_of(sign) == (50, 25)
    assert [design_of(sign, feet).posting.placement for feet in (50, 25)] == [
        f"visible from all normal points of entry, and no farther than {feet} feet apart"
        for feet in (50, 25)
    ]


@pytest.mark.parametrize("apart_ft", [50, 25])
def test_a_smaller_sign_waits_to_be_compared_with_the_code(apart_ft):
    sign = posting_for("US-WPS")
    design = design_of(sign, apart_ft)

    assert design.can_be_printed()
    assert set(design.unsure) == {"memory", "counterpart", "free size"}
    assert design.fingerprint() != design_of(sign).fingerprint()


@pytest.mark.parametrize(
    ("jurisdiction", "printed"),
    [
        ("US-MI", True),  # [MI-285-637] names all of it
        ("US-ME", False),  # all but the symbol of [ME-26-28]
        ("US-MD", False),  # nothing of the wording of [MD-5-208]
    ],
)
def test_a_sign_is_printed_where_the_book_holds_all_of_it(jurisdiction, printed):
    assert design_of(posting_for(jurisdiction)).can_be_printed() is printed


def test_a_sign_without_parts_is_not_printed():
    assert not replace(design_of(posting_for("US-MI")), parts=()).can_be_printed()


@pytest.mark.parametrize(("letters_in", "found"), [(0.5, []), (0.49, ["letters"])])
def test_letters_of_an_own_sign_are_held_against_the_rule(letters_in, found):
    # [NJAC-7-30-9-13] half an inch
    told = {"width_in": 20, "height_in": 20, "parts": [{"words": "", "letters_in": letters_in}]}

    assert less_than_asked(posting_for("US-NJ"), told) == found


def test_letters_of_which_no_rule_is_known_are_never_too_small():
    silent = replace(posting_for("US-NJ"), letter_min_in=None)
    told = {"width_in": 20, "height_in": 20, "parts": [{"words": "", "letters_in": 0.01}]}

    assert less_than_asked(silent, told) == []


def test_letters_of_type_are_as_high_as_their_capitals():
    # a point is a 72nd of an inch (common practice) and the capitals of the sans are 0.654 of it:
    # 55.1 x 0.654 / 72 is 0.5005 in, 55 x 0.654 / 72 is 0.4996 in; [NJAC-7-30-9-13] half an inch
    found = [
        less_than_asked(
            posting_for("US-NJ"),
            {"width_in": 20, "height_in": 20, "parts": [{"words": "", "points": points}]},
        )
        for points in (55.1, 55)
    ]

    assert found == [[], ["letters"]]


def test_a_circle_has_no_letters():
    told = {"width_in": 20, "height_in": 20, "parts": [{"circle_in": 0.1}]}

    assert less_than_asked(posting_for("US-NJ"), told) == []


@pytest.mark.parametrize(
    ("state", "wide", "high", "found"),
    [
        ("US-NY", 5, 4, []),  # [NY-ECL-33] at least 5 by 4 in
        ("US-NY", 4.9, 4, ["small"]),
        ("US-NY", 5, 3.9, ["small"]),
        ("US-NY", 6, 5, []),
        ("US-MI", 5, 4, []),  # [MI-285-637] 5 by 4 in, neither more nor less
        ("US-MI", 6, 4, ["not exact"]),
        ("US-MI", 5, 4.1, ["not exact"]),
        ("US-NJ", 1, 1, []),  # [NJAC-7-30-9-13] the size was not read
    ],
)
def test_the_size_of_an_own_sign_is_held_against_the_rule(state, wide, high, found):
    told = {"width_in": wide, "height_in": high, "parts": []}

    assert less_than_asked(posting_for(state), told) == found


def test_michigans_sign_reads_from_both_sides_and_an_own_one_has_a_back_instead():
    # [MI-285-637] both sides; of the others it was not read
    known = design_of(posting_for("US-MI"))
    told = {
        "width_in": 5, "height_in": 4, "background": "white", "lettering": "green", "parts": [],
        "back": [{"words": "the back", "points": 20}],
    }  # fmt: skip
    own = own_design(known, told, OwnSource("A. Holder", EVENING.date(), "R 285.637.11"))

    assert (known.both_sides, design_of(posting_for("US-NY")).both_sides) == (True, False)
    assert (own.both_sides, len(own.back)) == (False, 1)


def test_a_size_that_no_rule_names_is_none():
    # [FL-482] names no size
    design = design_of(posting_for("US-FL"))

    assert (design.width_in, design.height_in) == (0, 0)


def test_what_rests_on_memory_waits_to_be_compared_and_says_so_once():
    remembered = replace(posting_for("US-MI"), mark="memory")

    assert design_of(remembered).unsure == ("memory",)
    assert design_of(posting_for("US-WPS")).unsure.count("memory") == 1


def test_a_sign_says_what_asks_for_it():
    # [OH-901-5-11] lawn applications
    assert posting_for("US-OH").required_when == "lawn pesticide application"


def test_an_own_sign_never_stays_for_less_and_fills_what_the_book_does_not_know():
    # [WA-17-21] 24 hours, at the time of the work; who takes it down was not read
    known = posting_for("US-WA")
    longer = replace(known, when="the day before", keep_up_hours=48, remover="the customer")
    shorter = replace(known, keep_up_hours=12)
    unknown = replace(known, keep_up_hours=None)

    joined = known_with_own(known, longer)
    assert (joined.when, joined.keep_up_hours) == (known.when, 48)
    assert known_with_own(replace(known, when=None, remover=None), longer) == longer
    assert known_with_own(replace(known, remover="the owner"), longer).remover == "the owner"
    assert known_with_own(known, shorter).keep_up_hours == 24
    assert known_with_own(known, unknown).keep_up_hours == 24
    assert known_with_own(unknown, known).keep_up_hours == 24
    assert (known_with_own(known, None), known_with_own(None, known)) == (known, known)


def test_no_sign_was_found_for_pennsylvania():
    # [PA-128-35] and its neighbours ask for none; that is not known for places never read
    assert posting_for("US-PA") is None
    assert posting_for("US-NV") is None


def test_a_sign_outlasts_the_reentry_interval():
    # [WA-17-21] 24 hours, longer if the interval is longer
    reentry = EVENING + timedelta(hours=48)

    assert sign_stays_until(posting_for("US-WA"), EVENING, reentry) == reentry


def test_hours_that_are_not_known_are_not_made_up():
    # [FL-482] no set period; [IL-415-65] to the next day, by its wording
    assert sign_stays_until(posting_for("US-FL"), EVENING) is None
    assert posting_for("US-IL").keep_up_rule.startswith("removed by owner")


@pytest.mark.parametrize(
    ("hours_before", "code"),
    [
        ("72.1", ["told-too-early"]),
        ("72", []),
        ("12", []),
        ("11.9", ["told-too-late"]),
        (None, ["not-told"]),
    ],
)
def test_pennsylvanias_registry_is_told_12_to_72_hours_before(codes, hours_before, code):
    # as written in [PA-128-112]
    told = None if hours_before is None else EVENING - timedelta(hours=float(hours_before))

    findings = check_notice(notices_for("US-PA")[0], EVENING, told)

    assert codes(findings) == code
    assert all(each.severity is Severity.REFUSAL for each in findings)


@pytest.mark.parametrize(("distance", "concerned"), [("500", True), ("500.1", False), (None, True)])
def test_the_registry_reaches_500_feet(distance, concerned):
    # [PA-128-112] property line within 500 ft; an unknown distance is within
    registry = notices_for("US-PA")[0]

    assert registry.concerns(None if distance is None else Decimal(distance)) is concerned
    assert registry.log_required


@pytest.mark.parametrize(
    ("jurisdiction", "hours"),
    [("US-NY", 48), ("US-WA", 2)],  # [NY-ECL-33] 48 h; [WA-17-21] 2 h
)
def test_neighbours_are_told_so_many_hours_before(jurisdiction, hours):
    window = notice_window(notices_for(jurisdiction)[0], EVENING)

    assert (window.earliest, window.latest) == (None, EVENING - timedelta(hours=hours))


def test_ohio_counts_a_business_day_over_the_weekend():
    # [OH-901-5-11] at least one business day: for a Monday that is the Friday
    window = notice_window(notices_for("US-OH")[0], EVENING)

    assert window.latest.date().isoformat() == "2026-06-05"


def test_a_notice_on_request_says_so():
    # [PA-128-85A] residents who asked in writing
    registry, on_request = notices_for("US-PA")

    assert (registry.on_request, on_request.on_request) == (False, True)
    assert on_request.mark == "memory"


def test_hours_are_elapsed_when_the_clocks_change():
    # clocks go forward at 2:00 on 2026-03-08: 12 hours before 9:00 it was 20:00
    morning = datetime(2026, 3, 8, 9, 0, tzinfo=DELAWARE_RIVER)

    assert notice_window(notices_for("US-PA")[0], morning).latest.hour == 20


def test_days_are_counted_by_the_clock_back_to_the_same_hour():
    # our own reading, the stricter one: clocks go forward at 2:00 on 2026-03-08
    morning = datetime(2026, 3, 8, 9, 0, tzinfo=DELAWARE_RIVER)
    rule = replace(notices_for("US-PA")[1], hours_before=None, days_before=2, days_before_max=5)

    window = notice_window(rule, morning)

    assert (window.earliest, window.latest) == (
        datetime(2026, 3, 3, 9, 0, tzinfo=DELAWARE_RIVER),
        datetime(2026, 3, 6, 9, 0, tzinfo=DELAWARE_RIVER),
    )


def test_of_hours_and_days_the_stricter_holds():
    rule = replace(
        notices_for("US-PA")[0],
        hours_before=72,
        hours_before_max=96,
        days_before=2,
        days_before_max=7,
    )

    window = notice_window(rule, EVENING)

    assert window.latest == EVENING - timedelta(hours=72)
    assert window.earliest == EVENING - timedelta(hours=96)


@pytest.mark.parametrize(("days", "binds"), [(7, True), (6, False), (None, True)])
def test_contiguous_residents_asked_seven_days_ahead(days, binds):
    # [PA-128-85A] asked in writing at least 7 days ahead (from memory); an unknown day counts
    on_request = notices_for("US-PA")[1]
    asked_on = None if days is None else EVENING.date() - timedelta(days=days)

    assert on_request.was_asked_in_time(asked_on, EVENING.date()) is binds


@pytest.mark.parametrize(
    ("state", "number", "bound"),
    [
        ("US-PA", 0, [REGISTRY]),  # [PA-128-112] who stands on the registry
        ("US-PA", 1, [ASKED]),  # [PA-128-85A] who asked in writing
        ("US-NY", 0, [REGISTRY, ABUTTING]),  # [NY-ECL-33] whoever lives within 150 ft
    ],
)
def test_a_notice_goes_to_those_whom_the_rule_means(state, number, bound):
    rule = notices_for(state)[number]

    assert [g for g in (ASKED, REGISTRY, ABUTTING) if rule.binds(g, Decimal(100))] == bound


def test_who_lives_farther_off_is_not_bound():
    # [PA-128-112] 500 ft; [NY-ECL-33] 150 ft
    assert not notices_for("US-PA")[0].binds(REGISTRY, Decimal(501))
    assert not notices_for("US-NY")[0].binds(ABUTTING, Decimal(151))
    assert notices_for("US-NY")[0].binds(ABUTTING, Decimal(150))


@pytest.mark.parametrize(
    ("county", "bound"),
    [("Nassau", True), ("nassau county", True), ("Saratoga", False), ("", True)],
)
def test_new_yorks_notice_is_of_the_counties_that_have_it(county, bound):
    # [NY-ECL-33] a county opts in; one that is not known is taken to have
    assert notices_for("US-NY")[0].binds(ABUTTING, Decimal(100), county) is bound


def test_pennsylvanias_notice_is_of_every_county():
    # [PA-128-112] names no county
    assert notices_for("US-PA")[0].binds(REGISTRY, Decimal(100), "Erie")


@pytest.mark.parametrize(
    ("state", "hours_before", "remedy"),
    [
        ("US-PA", None, "Tell them from 2026-06-05 20:00 to 2026-06-08 08:00."),  # [PA-128-112]
        ("US-NY", None, "Tell them before 2026-06-06 20:00."),  # [NY-ECL-33] 48 h, no most
        ("US-NY", 47, "Move the application so that the notice is in time."),
        ("US-PA", 11, "Move the application so that the notice is in time."),
    ],
)
def test_a_notice_says_between_which_hours_it_goes_out(state, hours_before, remedy):
    told = None if hours_before is None else EVENING - timedelta(hours=hours_before)

    (finding,) = check_notice(notices_for(state)[0], EVENING, told)

    assert finding.say_remedy() == remedy

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
    notice_window,
    notices_for,
    posting_for,
    sign_stays_until,
    spacings_of,
)
from treatments.rules.records.signs import less_than_asked

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

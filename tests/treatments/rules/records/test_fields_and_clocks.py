"""What a record must hold, by when, and how long it is kept, state by state."""

from dataclasses import replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from treatments.rules.findings import Severity
from treatments.rules.records import (
    FIELDS,
    Circumstances,
    check_record,
    fields_needed,
    is_verified,
    missing_fields,
    record_due,
    retention_of,
    ruleset_of,
    rulesets_for,
)
from treatments.rules.table_files import read_json

DELAWARE_RIVER = ZoneInfo("America/New_York")
EVENING = datetime(2026, 6, 8, 20, 0, tzinfo=DELAWARE_RIVER)
DAY = EVENING.date()


def asked(jurisdiction, **circumstances):
    needed = fields_needed(jurisdiction, DAY, Circumstances(**circumstances))
    return {each.field for each in needed if each.asked_by}


@pytest.mark.parametrize("jurisdiction", ["US-PA", "PA", "us-pa"])
def test_pennsylvania_asks_for_these_fields(jurisdiction):
    # as written in [PA-128-35]
    assert asked(jurisdiction, reentry_stated=False, site_differs=False) == {
        "application_date",
        "customer_name",
        "customer_address",
        "product_name",
        "epa_reg_no",
        "total_product_amount",
        "rate",
        "applicator_name",
        "applicator_license_no",
    }


def test_pennsylvania_asks_for_the_hour_where_there_is_a_reentry_time():
    # [PA-128-35] hour completed if re-entry time
    assert "end_time" in asked("US-PA", reentry_stated=True)
    assert "end_time" not in asked("US-PA", reentry_stated=False)


def test_new_jersey_asks_for_the_diluent_and_the_reentry_time():
    # as written in [NJAC-7-30-7-3]
    assert {"active_ingredient", "dilution", "total_mix_amount"} <= asked("US-NJ")
    assert "reentry_datetime" in asked("US-NJ", reentry_stated=True)
    assert "reentry_datetime" not in asked("US-NJ", reentry_stated=False)


def test_minnesota_asks_for_wind_and_temperature():
    # as written in [MN-18B]
    assert {"wind_speed", "wind_direction", "air_temperature", "business_address"} <= asked("US-MN")


def test_a_restricted_product_adds_the_federal_fields():
    # [40CFR171-303] place, size, crop and time besides what Pennsylvania asks for
    added = asked("US-PA", restricted_use=True) - asked("US-PA")

    assert added == {"area_or_units_treated", "site_description", "time_of_day"}


def test_each_field_says_who_asks():
    needed = {each.field: each for each in fields_needed("US-NJ", DAY)}

    assert needed["dilution"].asked_by == ("NJ",)
    assert "7:30-7.3" in needed["dilution"].citations[0]
    assert needed["target_pest"].mark == "common practice"


def test_every_field_that_a_rule_names_has_a_name():
    for ruleset in read_json("rulesets")["rulesets"]:
        assert set(ruleset["required_fields"]) | set(ruleset["conditional_fields"]) <= set(FIELDS)


def test_every_condition_of_the_table_is_one_of_the_circumstances():
    conditions = {
        each["when"]
        for ruleset in read_json("rulesets")["rulesets"]
        for each in ruleset["conditional_fields"].values()
    }

    assert all(
        condition == "always" or hasattr(Circumstances(), condition) for condition in conditions
    )


def test_a_blank_is_missing_and_a_zero_is_not():
    filled = dict.fromkeys(FIELDS, "x")

    assert missing_fields(filled, "US-NJ", DAY) == []
    assert missing_fields(filled | {"dilution": 0}, "US-NJ", DAY) == []
    assert [f.field for f in missing_fields(filled | {"dilution": " "}, "US-NJ", DAY)] == [
        "dilution"
    ]


def test_either_clock_time_answers_for_the_time_of_day():
    # [CA-3CCR6624] date and time
    filled = dict.fromkeys(FIELDS, "x") | {"time_of_day": "", "end_time": ""}

    missing = {each.field for each in missing_fields(filled, "US-CA", DAY)}

    assert "time_of_day" not in missing


def test_what_a_rule_asks_for_refuses_and_what_practice_does_warns():
    filled = dict.fromkeys(FIELDS, "x")
    lacking = filled | {"dilution": "", "target_pest": ""}

    findings = check_record(lacking, "US-NJ", DAY)

    assert {each.say().split(":")[1].split(".")[0].strip(): each.severity for each in findings} == {
        "dilution": Severity.REFUSAL,
        "pest or purpose": Severity.WARNING,
    }


def test_what_is_missing_says_who_asks_for_it():
    # as written in [NJAC-7-30-7-3]
    (finding,) = check_record(dict.fromkeys(FIELDS, "x") | {"dilution": ""}, "US-NJ", DAY)

    assert "7:30-7.3" in finding.say()


def test_a_place_without_rules_is_said_to_be_unread():
    findings = check_record(dict.fromkeys(FIELDS, "x"), "US-NV", DAY)

    assert [each.code for each in findings] == ["rules-not-read"]
    assert not is_verified("US-NV")


@pytest.mark.parametrize("jurisdiction", ["US-PA", "US-NJ"])
def test_pennsylvania_and_new_jersey_give_24_hours(jurisdiction):
    # [PA-128-35] [NJAC-7-30-8-8] no later than 24 hours
    clock = record_due(EVENING, jurisdiction)

    assert clock.due_at == EVENING + timedelta(hours=24)
    assert clock.known


def test_of_two_rules_the_shorter_holds():
    # [PA-128-35] 24 hours; [7CFR110] 14 days, which held in 2024
    then = datetime(2024, 6, 1, 20, 0, tzinfo=DELAWARE_RIVER)
    bound = rulesets_for("US-PA", then.date(), restricted_use=True)

    assert [each.code for each in bound] == ["PA", "US-RUP", "US-FORMER-110"]
    assert record_due(then, "US-PA", rulesets=bound).due_at == then + timedelta(hours=24)
    assert record_due(then, "US-PA", rulesets=bound[::-1]).due_at == then + timedelta(hours=24)


@pytest.mark.parametrize(
    ("state", "fact"), [("US-PA", "record_deadline_hours"), ("US-MN", "record_deadline_days")]
)
@pytest.mark.parametrize(("unsure", "mark"), [(True, "memory"), (False, "read")])
def test_a_clock_is_as_sure_as_the_figure_it_goes_by(state, fact, unsure, mark):
    known = ruleset_of(state)
    ruleset = replace(known, row=known.row | {"memory_fields": [fact] if unsure else []})

    assert record_due(EVENING, state, rulesets=[ruleset]).mark == mark


def test_minnesota_gives_five_days():
    # [MN-18B] no later than five days after the application
    assert record_due(EVENING, "US-MN").due_at.date() == date(2026, 6, 13)


def test_a_rule_that_was_not_read_is_not_taken_for_no_duty():
    clock = record_due(EVENING, "US-NV")

    assert (clock.known, clock.due_at) == (False, EVENING + timedelta(hours=24))


def test_24_hours_are_elapsed_when_the_clocks_change():
    # clocks go back on 2026-11-01: 24 hours after 20:00 it is 19:00
    before = datetime(2026, 10, 31, 20, 0, tzinfo=DELAWARE_RIVER)

    assert record_due(before, "US-PA").due_at.hour == 19


@pytest.mark.parametrize(
    ("jurisdiction", "years"),
    [
        ("US-PA", 3),  # [PA-128-35]
        ("US-NJ", 3),  # [NJAC-7-30-8-8]
        ("US-NY", 3),  # [NY-ECL-33]
        ("US-CT", 5),  # [CT-22A-66]
        ("US-MD", 2),  # [MD-5-208]
        ("US-MN", 5),  # [MN-18B]
        ("US-WA", 7),  # [WA-17-21]
        ("US-OR", 3),  # [OR-634-146]
        ("US-ID", 3),  # [ID-02-03-03] the stricter of two texts
        ("US-TX", 2),  # [TX-4TAC7]
        ("US-MA", 3),  # [MA-333CMR]
        ("US-GA", 2),  # [GA-40-21-5]
        ("US-FL", 2),  # [FL-482]
        ("US-CA", 2),  # [CA-3CCR6624]
    ],
)
def test_records_are_kept_for_the_states_years(jurisdiction, years):
    kept = retention_of(DAY, jurisdiction)

    assert (kept.keep_until, kept.known) == (date(2026 + years, 6, 8), True)


@pytest.mark.parametrize("jurisdiction", ["US-NV", "US-IL", "US-OH", "US-MI"])
def test_where_the_years_are_not_known_the_longest_is_kept(jurisdiction):
    # [WA-17-21] seven years, the longest read
    retention = retention_of(DAY, jurisdiction, restricted_use=True)

    assert (retention.years, retention.known) == (7, False)


def test_a_record_of_a_leap_day_is_kept_a_day_longer():
    assert retention_of(date(2028, 2, 29), "US-PA").keep_until == date(2031, 3, 1)
    # [WA-17-21] seven years
    assert retention_of(date(2028, 2, 29), "US-WA").keep_until == date(2035, 3, 1)
    assert retention_of(date(2028, 2, 28), "US-WA").keep_until == date(2035, 2, 28)


@pytest.mark.parametrize(("day", "binds"), [(date(2025, 7, 10), True), (date(2025, 7, 11), False)])
def test_the_rescinded_rule_binds_earlier_work_only(day, binds):
    # [7CFR110] rescinded with effect from 11 July 2025
    codes = [each.code for each in rulesets_for("US-TX", day, restricted_use=True)]

    assert ("US-FORMER-110" in codes) is binds
    assert "US-RUP" in codes


def test_the_rescinded_rule_gave_14_days():
    # [7CFR110] within 14 days
    then = datetime(2024, 6, 1, 20, 0, tzinfo=DELAWARE_RIVER)

    assert record_due(then, "US-TX", restricted_use=True).due_at.date() == date(2024, 6, 15)


def test_what_rests_on_memory_is_marked_so():
    assert retention_of(DAY, "US-PA").mark == "memory"
    assert retention_of(DAY, "US-WA").mark == "read"

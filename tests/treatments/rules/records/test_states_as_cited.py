"""Who asks for which field, by when, for how long, with which sign and notice: rule by rule.

What the cited text of each says, written down here from the texts and not from the table that the
program reads.  [40CFR171-303] [NY-ECL-33] [PA-128-35] [NJAC-7-30-7-3] [CT-22A-66] [MD-5-208]
[MN-18B] [WA-17-21] [OR-634-146] [ID-02-03-03] [TX-4TAC7] [MA-333CMR] [CA-3CCR6624] [GA-40-21-5]
[FL-482]
"""

from dataclasses import fields
from datetime import date
from decimal import Decimal

import pytest

from treatments.rules.records import (
    FIELDS,
    Circumstances,
    fields_needed,
    notices_for,
    posting_for,
    return_rule,
)
from treatments.rules.table_files import read_json

DAY = date(2026, 6, 8)
FEDERAL = "US-RUP"
STATES = {"CA", "CT", "FL", "GA", "ID", "MA", "MD", "MN", "NJ", "NY", "OR", "PA", "TX", "WA"}
ALWAYS = Circumstances(**{each.name: True for each in fields(Circumstances)})
NEVER = Circumstances(**{each.name: False for each in fields(Circumstances)})

# A star: only under a condition.
ASKED = {
    "application_date": "US-RUP CA CT FL* GA ID MA MD MN NJ NY OR PA TX WA",
    "start_time": "OR TX WA",
    "end_time": "MN NJ* OR PA* WA",
    "time_of_day": "US-RUP CA GA ID MD",
    "reentry_datetime": "NJ*",
    "customer_name": "US-RUP CA GA ID MN OR PA TX WA",
    "customer_address": "US-RUP ID MN OR PA WA",
    "customer_phone": "OR",
    "site_address": "US-RUP CA CT FL* GA ID MA MD MN NJ NY OR PA* TX WA",
    "site_description": "US-RUP CA CT FL* GA ID MD OR TX WA",
    "area_or_units_treated": "US-RUP CA CT* GA ID MD MN NJ* OR PA* TX WA",
    "target_pest": "CT GA MA MD NY TX",
    "product_name": "US-RUP CA CT FL* GA ID MA MD MN NJ NY OR PA TX WA",
    "epa_reg_no": "US-RUP CA CT ID MA MD MN NJ NY OR PA TX WA",
    "active_ingredient": "MD NJ",
    "formulation_or_strength": "OR",
    "rate": "GA ID* MD MN NY OR PA TX WA",
    "dilution": "NJ OR WA",
    "total_product_amount": "US-RUP CA CT FL* ID MA MD NJ NY PA",
    "total_mix_amount": "NJ TX",
    "method_or_equipment": "GA MA MD NY OR TX",
    "applicator_name": "US-RUP CT ID MA MD MN NJ OR PA TX WA",
    "applicator_license_no": "US-RUP CT ID MA MN NJ PA TX WA",
    "supervisor_name": "CT ID* PA*",
    "supervisor_license_no": "CT ID*",
    "noncertified_applicator_name": "US-RUP* PA*",
    "business_name": "MN",
    "business_address": "MN",
    "supplier_name": "OR",
    "recommender_name": "ID*",
    "wind_speed": "ID MD* MN TX* WA",
    "wind_direction": "ID MD* MN TX* WA",
    "air_temperature": "MN TX",
    "weather_conditions": "MD*",
    "incident_notes": "GA* MA*",
    "disposal_notes": "GA*",
    "insurance": "MA",
    "permit_no": "TX*",
    "training_proof": "TX*",
    "worker_protection_exchange": "ID*",
}
# Idaho's agency asks for them on its page, its rule of 2024 does not: they are always asked for.
TAKEN_AS_ASKED = {("ID", "rate"), ("ID", "recommender_name")}


def those_who_ask(field, circumstances):
    """Return the codes of the rule sets that ask for a field, of all states there are."""
    return {
        code
        for state in STATES
        for each in fields_needed(f"US-{state}", DAY, circumstances)
        for code in each.asked_by
        if each.field == field
    } - {"US-WPS"}


@pytest.mark.parametrize("field", ASKED)
def test_who_asks_for_a_field(field):
    told = ASKED[field].split()
    starred = {each.rstrip("*") for each in told if each.endswith("*")}
    plain = {each for each in told if not each.endswith("*")}
    taken = {state for state, name in TAKEN_AS_ASKED if name == field}

    assert those_who_ask(field, ALWAYS) == plain | starred
    assert those_who_ask(field, NEVER) == (plain | taken) - {FEDERAL}


def test_every_field_that_a_rule_asks_for_stands_here():
    rows = read_json("rulesets")["rulesets"]
    asked = {
        name
        for row in rows
        for key in ("required_fields", "conditional_fields")
        for name in row[key]
    }

    assert asked <= set(ASKED) <= set(FIELDS)


# By when it is written, for how long it is kept, within how many days the client has a copy.
CLOCKS = {
    "US-RUP": (None, 2, None),
    "NY": (None, 3, None),
    "PA": ("24 h", 3, 30),
    "NJ": ("24 h", 3, None),
    "CT": (None, 5, None),
    "MD": (None, 2, None),
    "MN": ("5 d", 5, None),
    "WA": (None, 7, None),
    "OR": (None, 3, None),
    "ID": (None, 3, 30),
    "TX": (None, 2, None),
    "MA": (None, 3, None),
    "CA": (None, 2, None),
    "GA": (None, 2, None),
    "FL": (None, 2, None),
    "US-FORMER-110": ("14 d", 2, 30),  # [7CFR110]
}


def row_of(code):
    return next(each for each in read_json("rulesets")["rulesets"] if each["code"] == code)


@pytest.mark.parametrize("code", CLOCKS)
def test_the_clocks_of_a_rule(code):
    row = row_of(code)
    hours, days = row["record_deadline_hours"], row["record_deadline_days"]
    written = f"{hours} h" if hours else f"{days} d" if days else None

    assert (written, row["retention_years"], row["customer_copy_days"]) == CLOCKS[code]


@pytest.mark.parametrize(
    ("place", "period", "day"),
    [
        ("US-NY", "year", (2, 1)),  # [NY-ECL-33] by 1 February
        ("US-CA", "month", (None, 10)),  # [CA-3CCR6624] by the 10th of the next month
        ("US-MA", "year", (None, None)),  # [MA-333CMR] from memory, no day
    ],
)
def test_the_periodic_returns(place, period, day):
    rule = return_rule(place)

    assert (rule.period, (rule.due_month, rule.due_day)) == (period, day)


@pytest.mark.parametrize(
    ("place", "day", "first", "last"),
    [
        # [NY-ECL-33] for the year before
        ("US-NY", date(2026, 1, 1), date(2026, 1, 1), date(2026, 12, 31)),
        ("US-NY", date(2026, 12, 31), date(2026, 1, 1), date(2026, 12, 31)),
        # [CA-3CCR6624] for the month before
        ("US-CA", date(2026, 12, 15), date(2026, 12, 1), date(2026, 12, 31)),
        ("US-CA", date(2028, 2, 1), date(2028, 2, 1), date(2028, 2, 29)),
    ],
)
def test_the_period_of_a_return(place, day, first, last):
    rule = return_rule(place)

    assert (rule.first_day(day), rule.last_day(day)) == (first, last)


def test_no_other_state_is_said_to_want_a_return():
    told = {place for place in STATES if return_rule(f"US-{place}") is not None}

    assert told == {"NY", "CA", "MA"}


# Width and height (in), letters (in), ground, letters' colour, when it goes up, hours it stays.
SIGNS = {
    "NY": (5, 4, "0.375", "yellow", "black", "before", 24),  # [NY-ECL-33]
    "NJ": (None, None, "0.5", "white", "dark", "at start", 72),  # [NJAC-7-30-9-13]
    "CT": (5, 4, None, "bright yellow", "black", None, 24),  # [CT-22A-66]
    "MD": (5, 4, None, "yellow", "black", "at time", 48),  # [MD-5-208]
    "CO": (5, 4, None, "bright yellow", "black", None, None),  # [CO-35-10]
    "MI": (5, 4, None, "white", "green", "immediately after", 24),  # [MI-285-637]
    "IL": (5, 4, "0.375", "white", "contrasting", "immediately after", None),  # [IL-415-65]
    "OH": (5, 4, None, None, None, None, 24),  # [OH-901-5-11]
    "WI": (5, 4, None, "white", "red", "before", None),  # [WI-ATCP29]
    "ME": (5, 4, None, "white", "black", "before", 48),  # [ME-26-28]
    "MN": (None, None, "0.5", None, "contrasting", None, 48),  # [MN-18B]
    "WA": (5, 4, None, None, None, "at time", 24),  # [WA-17-21]
    "FL": (None, None, None, None, None, "at time", None),  # [FL-482]
}
EXACTLY = {"CT", "MD", "MI", "IL"}


@pytest.mark.parametrize("state", SIGNS)
def test_the_sign_of_a_state(state):
    width, height, letters, ground, ink, goes_up, hours = SIGNS[state]
    sign = posting_for(f"US-{state}")

    assert (sign.width_in, sign.height_in, sign.keep_up_hours) == (width, height, hours)
    assert sign.letter_min_in == (Decimal(letters) if letters else None)
    assert (sign.background or "").startswith(ground or "")
    assert (sign.lettering or "").startswith(ink or "")
    assert (sign.background is None, sign.lettering is None) == (ground is None, ink is None)
    assert row_of(state)["posting"]["size_is_exact"] is (state in EXACTLY)
    told = row_of(state)["posting"]["post_before_or_at"]
    assert told is None if goes_up is None else told.startswith(goes_up)


@pytest.mark.parametrize("state", sorted(STATES - set(SIGNS)))
def test_of_other_states_no_sign_is_known(state):
    assert posting_for(f"US-{state}") is None


# Least and most hours before, business days, distance (ft), and whether attempts are logged: None
# where the text does not say.
NOTICES = {
    "NY": [(48, None, None, 150, None)],  # [NY-ECL-33]
    "PA": [(12, 72, None, 500, True), (12, None, None, None, None)],  # [PA-128-112] [PA-128-85A]
    "WA": [(2, None, None, None, None)],  # [WA-17-21]
    "OH": [(None, None, 1, None, True)],  # [OH-901-5-11]
    "CO": [(None, None, None, None, None)],  # [CO-35-10]
    "CT": [(None, None, None, 300, None)],  # [CT-22A-66] 100 yards
    "MD": [(None, None, None, None, None)],  # [MD-5-208]
    "WI": [(None, None, None, None, None)],  # [WI-ATCP29]
}


@pytest.mark.parametrize("state", NOTICES)
def test_the_notices_of_a_state(state):
    told = [
        (each.hours_before, each.hours_before_max, each.business_days_before, each.within_ft)
        for each in notices_for(f"US-{state}")
    ]

    assert told == [each[:4] for each in NOTICES[state]]
    logged = [each.log_required for each in notices_for(f"US-{state}")]
    assert logged == [each[4] for each in NOTICES[state]]

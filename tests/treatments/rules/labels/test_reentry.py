"""Re-entry: never less than the label, the longer of a mixture, in elapsed hours."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from zoneinfo import ZoneInfo

import pytest

from treatments.rules.facts import SignalWord
from treatments.rules.findings import Severity
from treatments.rules.labels import (
    check_reentry,
    check_reentry_plausible,
    default_reentry_hours,
    reentry_after,
)

DELAWARE_RIVER = ZoneInfo("America/New_York")
EVENING = datetime(2026, 6, 8, 20, 0, tzinfo=DELAWARE_RIVER)


@pytest.mark.parametrize(("category", "hours"), [("I", 48), ("II", 24), ("III", 12), ("IV", 12)])
def test_the_default_interval_follows_the_category(category, hours):
    # [40CFR156-208] 48 hours for category I, 24 for II, 12 for III and IV
    assert default_reentry_hours(category) == hours


def test_an_organophosphate_in_a_dry_region_takes_72_hours():
    # [40CFR156-208] outdoors where it rains under 25 inches a year
    assert default_reentry_hours("I", dry_region_organophosphate=True) == 72


def test_a_mixture_takes_the_longer_interval(a_product):
    products = [
        a_product("Short", reentry_hours=Decimal(4)),
        a_product("Long", reentry_hours=Decimal(12)),
    ]

    reentry = reentry_after(products, EVENING)

    assert (reentry.decisive, reentry.hours) == ("Long", 12)
    assert reentry.until == EVENING + timedelta(hours=12)


def test_half_an_hour_is_longer_than_none(a_product):
    products = [
        a_product("None", reentry_hours=Decimal(0)),
        a_product("Half", reentry_hours=Decimal("0.5")),
    ]

    assert reentry_after(products, EVENING).until == EVENING + timedelta(minutes=30)


def test_until_dry_stays_beside_the_hours_of_another_product(a_product):
    products = [a_product(reentry_until_dry=True), a_product("Two", reentry_hours=Decimal(4))]

    (finding,) = check_reentry(products, EVENING)

    assert "4 hours" in finding.say()
    assert "dried" in finding.say()


def test_the_hours_are_elapsed_hours_when_the_clocks_change(a_product):
    # clocks go forward on 2026-03-08 at 2:00: 12 hours end at 9:00
    night_before = datetime(2026, 3, 7, 20, 0, tzinfo=DELAWARE_RIVER)

    until = reentry_after([a_product(reentry_hours=Decimal(12))], night_before).until

    assert until.hour == 9
    assert until.astimezone(UTC) - night_before.astimezone(UTC) == timedelta(hours=12)


def test_a_label_copy_without_an_interval_is_said_not_passed(a_product):
    (finding,) = check_reentry([a_product()], EVENING)

    assert (finding.code, finding.severity) == ("reentry-unnamed", Severity.WARNING)


def test_a_time_without_zone_is_refused(a_product):
    with pytest.raises(ValueError, match="time zone"):
        reentry_after([a_product()], datetime(2026, 6, 8, 20, 0))  # noqa: DTZ001


@pytest.mark.parametrize(("hours", "odd"), [(47, True), (48, False)])
def test_danger_beside_a_short_interval_is_only_noted(a_product, hours, odd):
    product = a_product(signal_word=SignalWord.DANGER, reentry_hours=Decimal(hours))

    findings = check_reentry_plausible(product)

    assert [finding.severity for finding in findings] == ([Severity.NOTE] if odd else [])


@pytest.mark.parametrize(
    ("word", "hours"), [(SignalWord.CAUTION, Decimal(4)), (SignalWord.DANGER, None)]
)
def test_an_interval_that_cannot_be_compared_is_not_noted(a_product, word, hours):
    # [40CFR156-64] CAUTION may stand for category III or IV; a copy may name no interval
    assert check_reentry_plausible(a_product(signal_word=word, reentry_hours=hours)) == []

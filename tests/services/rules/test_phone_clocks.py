"""Ids made on a phone, the skew of its clock, and numbers that never came."""

from datetime import UTC, datetime, timedelta

import pytest

from services.rules.phone_clocks import PhoneClock, check_phone_clock, check_zone, gaps_in, is_uuid7

NOON = datetime(2026, 7, 6, 12, tzinfo=UTC)


def test_the_published_example_of_version_7_is_one():
    # [RFC9562] appendix A.6
    assert is_uuid7("017F22E2-79B0-7CC3-98C4-DC0C0C07398F")


@pytest.mark.parametrize(
    "text",
    [
        "919108f7-52d1-4320-9bac-f847db4148a8",  # [RFC9562] appendix A.3: version 4
        "1ec9414c-232a-6b00-b3c8-9f6bdeced846",  # [RFC9562] appendix A.5: version 6
        "017f22e2-79b0-7cc3-18c4-dc0c0c07398f",  # the variant of another standard
        "017f22e279b07cc398c4dc0c0c07398f",
        "{017f22e2-79b0-7cc3-98c4-dc0c0c07398f}",
        "urn:uuid:017f22e2-79b0-7cc3-98c4-dc0c0c07398f",
        "017f22e2-79b0-7cc3-98c4-dc0c0c07398",
        "",
        "seven",
    ],
)
def test_every_other_text_is_none(text):
    assert not is_uuid7(text)


@pytest.mark.parametrize(
    ("seen", "last", "gaps"),
    [
        (set(), 0, []),
        ({1, 2, 3}, 3, []),
        ({3}, 3, [(1, 2)]),
        ({1, 3, 7}, 7, [(2, 2), (4, 6)]),
        ({1}, 2, [(2, 2)]),
    ],
)
def test_what_never_came_is_told_run_by_run(seen, last, gaps):
    assert gaps_in(seen, last) == gaps


@pytest.mark.parametrize(("seen", "ticks"), [(None, None), (None, 60_000), (NOON, None)])
def test_a_skew_is_not_known_without_both_a_time_of_ours_and_the_ticks_since(seen, ticks):
    assert PhoneClock(NOON, seen, ticks).skew() is None


# common practice: a phone that is set by its net is right to within seconds
@pytest.mark.parametrize(
    ("skew", "told"),
    [
        (None, []),
        (timedelta(minutes=2), []),
        (timedelta(minutes=-2), []),
        (timedelta(minutes=2, seconds=1), ["ahead"]),
        (timedelta(minutes=-2, seconds=-1), ["behind"]),
    ],
)
def test_a_clock_is_told_to_be_off_beyond_two_minutes(skew, told):
    found = check_phone_clock(skew)

    assert [word for each in found for word in ("ahead", "behind") if word in each.sentence] == told
    assert all(each.facts == {"minutes": 2} for each in found)


@pytest.mark.parametrize(
    ("done", "dispatched", "codes"),
    [
        (NOON, NOON + timedelta(seconds=1), ["done-before-planned"]),
        (NOON, NOON, []),
        (NOON, None, []),
        (None, NOON, []),
    ],
)
def test_what_was_done_before_it_was_planned_is_told(done, dispatched, codes):
    found = check_phone_clock(None, done_at=done, dispatched_at=dispatched)

    assert [each.code for each in found] == codes


@pytest.mark.parametrize("said", ["", "America/New_York"])
def test_the_zone_of_the_property_is_not_odd_and_none_told_is_none(said):
    assert check_zone(said, "America/New_York") == []


def test_another_zone_is_told_with_both():
    (found,) = check_zone("America/Chicago", "America/New_York")

    assert found.facts == {"said": "America/Chicago", "zone": "America/New_York"}

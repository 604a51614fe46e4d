"""Counts of pests on a planting."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from treatments.models import ScoutingCount
from treatments.scouting import (
    CountSeries,
    against_threshold,
    change_since_first,
    counted_day,
    record_count,
)

SCOUTED = datetime(2026, 6, 1, 14, 0, tzinfo=UTC)


@pytest.fixture
def count(rose_bed, spider_mite, dispatcher):
    def counted(adults, *, days=0, **others):
        told = {"leaves_looked_at": 20, "leaves_infested": 10 if adults else 0}
        return record_count(
            planting=rose_bed,
            pest=spider_mite,
            scouted_at=SCOUTED + timedelta(days=days),
            scouted_by=dispatcher,
            adults=adults,
            **told | others,
        )

    return counted


def series_of(planting):
    """Return the counts of the one pest of a planting, the first one first."""
    counts = ScoutingCount.objects.filter(planting=planting).order_by("scouted_at")
    pest = counts[0].pest
    return CountSeries(pest, pest.threshold, tuple(map(counted_day, counts)))


def test_a_count_told_twice_is_kept_once(count):
    assert count(120) == count(120)
    assert ScoutingCount.objects.count() == 1


def test_another_count_of_the_same_hour_is_refused(count):
    count(120)

    with pytest.raises(ValidationError):
        count(121)


def test_not_more_leaves_are_infested_than_were_looked_at(count):
    with pytest.raises(ValidationError, match="Not more leaves"):
        count(120, leaves_infested=21)


def test_the_series_for_charts_tells_a_leaf(count, rose_bed):
    count(120, nymphs=30, eggs=50, predators=2)

    day = series_of(rose_bed).days[0]

    # 150 living mites, 50 eggs and 2 predators on 20 leaves
    assert (day.motiles_per_leaf, day.eggs_per_leaf) == (Decimal("7.5"), Decimal("2.5"))
    assert (day.predators_per_leaf, day.infested_percent) == (Decimal("0.1"), 50)


def test_a_day_is_that_of_the_place(count, rose_bed):
    # 02:00 UTC on 2 June is 22:00 on 1 June in Pennsylvania
    count(120, days=0.5)

    assert series_of(rose_bed).days[0].day == date(2026, 6, 1)


@pytest.mark.parametrize(
    ("last", "code", "percent"), [(30, "fell", 75), (120, "stayed", 0), (180, "rose", 50)]
)
def test_the_change_is_told_in_per_cent_of_the_first_count(count, rose_bed, last, code, percent):
    count(120)
    count(last, days=7)

    change = change_since_first(series_of(rose_bed))

    assert (change.code, change.facts["percent"]) == (code, percent)


def test_a_fall_says_that_nothing_untreated_stands_beside_it(count, rose_bed):
    count(120)
    count(30, days=7)

    change = change_since_first(series_of(rose_bed))

    assert change.say().startswith("two-spotted spider mite fell by 75 % since the first count.")
    assert "Without untreated plants" in change.say()


@pytest.mark.parametrize("counts", [[120], [0, 30]])
def test_from_one_count_or_from_none_nothing_fell(count, rose_bed, counts):
    for days, adults in enumerate(counts):
        count(adults, days=days)

    assert change_since_first(series_of(rose_bed)) is None


@pytest.mark.parametrize(
    ("adults", "code"), [(99, "under-threshold"), (100, "over-threshold"), (101, "over-threshold")]
)
def test_at_the_threshold_is_over_it(count, rose_bed, adults, code):
    # the threshold is 5 a leaf: 100 on 20 leaves
    count(adults)

    assert against_threshold(series_of(rose_bed)).code == code


def test_a_pest_without_a_threshold_says_so(count, rose_bed, spider_mite):
    spider_mite.threshold = None
    spider_mite.save()
    count(120)

    assert against_threshold(series_of(rose_bed)).code == "no-threshold"

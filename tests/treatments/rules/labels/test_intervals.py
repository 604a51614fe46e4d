"""Days between applications, days to harvest, distances."""

from datetime import date
from decimal import Decimal

import pytest

from treatments.rules.facts import PastApplication
from treatments.rules.findings import Severity
from treatments.rules.labels import check_distances, check_intervals, check_preharvest

JUNE_8 = date(2026, 6, 8)


@pytest.mark.parametrize(("day", "refused"), [(14, True), (15, False), (16, False)])
def test_two_applications_stand_the_labels_days_apart(a_week, a_product, day, refused):
    product = a_product(minimum_interval_days=7)
    weeks = [a_week(1, JUNE_8, product), a_week(2, date(2026, 6, day), product)]

    findings = check_intervals(weeks)

    assert [finding.week for finding in findings] == ([2] if refused else [])


def test_the_interval_counts_from_the_last_record(a_week, a_product):
    product = a_product(minimum_interval_days=10)

    (finding,) = check_intervals(
        [a_week(1, JUNE_8, product)], [PastApplication(date(2026, 6, 1), product)]
    )

    assert finding.severity is Severity.REFUSAL
    assert finding.say_remedy() == "Not before 2026-06-11, or use another product."


def test_the_same_day_twice_is_too_soon(a_week, a_product):
    product = a_product(minimum_interval_days=7)

    assert check_intervals([a_week(1, JUNE_8, product), a_week(2, JUNE_8, product)])


def test_another_label_has_an_interval_of_its_own(a_week, a_product):
    weeks = [
        a_week(1, JUNE_8, a_product("One", minimum_interval_days=7)),
        a_week(2, JUNE_8, a_product("Two", minimum_interval_days=7)),
    ]

    assert check_intervals(weeks) == []


@pytest.mark.parametrize(
    ("harvest", "refused"),
    [
        (date(2026, 6, 7), False),
        (JUNE_8, True),
        (date(2026, 6, 10), True),
        (date(2026, 6, 11), False),
    ],
)
def test_the_days_to_harvest_are_kept(a_week, a_product, a_planting, harvest, refused):
    week = a_week(1, JUNE_8, a_product(preharvest_days=3))

    findings = check_preharvest(week, a_planting(edible=True, harvest_on=harvest))

    assert bool(findings) is refused


def test_silence_on_harvest_is_no_consent(a_week, a_planting):
    (finding,) = check_preharvest(a_week(), a_planting(edible=True))

    assert (finding.code, finding.severity) == ("preharvest-unnamed", Severity.WARNING)


def test_without_a_harvest_day_the_first_lawful_one_is_told(a_week, a_product, a_planting):
    week = a_week(1, JUNE_8, a_product(preharvest_days=3))

    (finding,) = check_preharvest(week, a_planting(edible=True))

    assert finding.say() == "Nothing of Rose bed may be harvested before 2026-06-11."


@pytest.mark.parametrize(("distance", "code"), [("24.9", "too-near-water"), ("25", None)])
def test_the_distance_to_water_is_kept(a_product, a_planting, distance, code):
    product = a_product(water_buffer_ft=Decimal(25))

    findings = check_distances(product, a_planting(water_distance_ft=Decimal(distance)))

    assert [finding.code for finding in findings] == ([code] if code else [])


def test_a_distance_that_is_not_known_is_no_distance(a_product, a_planting, codes):
    product = a_product(
        water_buffer_ft=Decimal(25), well_buffer_ft=Decimal(50), edible_buffer_ft=Decimal(10)
    )

    assert codes(check_distances(product, a_planting())) == [
        "water-distance-unknown",
        "well-distance-unknown",
        "edible-distance-unknown",
    ]

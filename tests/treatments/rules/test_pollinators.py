"""Bloom and bees, on both sides of each limit."""

from datetime import date

import pytest

from treatments.rules.facts import BloomRule, IngredientFacts, SeparationClass
from treatments.rules.findings import Severity
from treatments.rules.pollinators import (
    BloomSeasonMalformed,
    blooms_on,
    check_pollinators,
    next_on,
)


@pytest.fixture
def blooming(a_planting):
    """Return a rose bed that blooms from mid-May to the end of June and is visited by bees."""

    def build(**changes):
        season = {"bloom_start": "05-15", "bloom_end": "06-30", "attracts_bees": True}
        return a_planting(**season | changes)

    return build


@pytest.mark.parametrize(
    ("day", "blooms"),
    [
        (date(2026, 5, 14), False),
        (date(2026, 5, 15), True),
        (date(2026, 6, 30), True),
        (date(2026, 7, 1), False),
    ],
)
def test_a_bloom_has_two_ends(day, blooms):
    assert blooms_on(day, "05-15", "06-30") is blooms


@pytest.mark.parametrize(
    ("day", "blooms"),
    [
        (date(2026, 12, 19), False),
        (date(2026, 12, 20), True),
        (date(2027, 1, 1), True),
        (date(2027, 2, 10), True),
        (date(2027, 2, 11), False),
    ],
)
def test_a_winter_bloom_runs_over_the_end_of_the_year(day, blooms):
    assert blooms_on(day, "12-20", "02-10") is blooms


@pytest.mark.parametrize(("day", "blooms"), [(14, False), (15, True), (16, False)])
def test_a_bloom_of_one_day_is_that_day(day, blooms):
    assert blooms_on(date(2026, 5, day), "05-15", "05-15") is blooms


def test_what_has_no_bloom_does_not_bloom():
    assert not blooms_on(date(2026, 6, 1), "", "")


@pytest.mark.parametrize(("start", "end"), [("05-15", ""), ("", "06-30")])
def test_a_bloom_with_one_end_is_refused(a_week, blooming, start, end):
    with pytest.raises(BloomSeasonMalformed, match="two days"):
        blooms_on(date(2026, 6, 1), start, end)
    with pytest.raises(BloomSeasonMalformed, match="two days"):
        check_pollinators(a_week(), blooming(bloom_start=start, bloom_end=end))


def test_a_leap_day_has_a_date_in_every_year():
    assert next_on(date(2026, 1, 1), "02-29") == date(2026, 2, 28)
    assert next_on(date(2028, 1, 1), "02-29") == date(2028, 2, 29)


# Papal bull Inter gravissimas, 1582 (from memory): of full centuries every fourth has a leap day.
@pytest.mark.parametrize(("year", "last"), [(2000, 29), (2100, 28), (2101, 28), (2400, 29)])
def test_full_centuries_have_a_leap_day_every_fourth_time(year, last):
    assert next_on(date(year, 1, 1), "02-29") == date(year, 2, last)


def test_the_day_itself_is_the_next_one():
    assert next_on(date(2026, 5, 15), "05-15") == date(2026, 5, 15)


@pytest.mark.parametrize(("day", "code"), [(14, []), (15, ["in-bloom"])])
def test_a_label_that_forbids_bloom_is_kept(a_week, a_product, blooming, codes, day, code):
    week = a_week(day=date(2026, 5, day), product=a_product(bloom_rule=BloomRule.NOT_IN_BLOOM))

    assert codes(check_pollinators(week, blooming())) == code


@pytest.mark.parametrize(
    ("day", "code"),
    [(date(2026, 6, 30), "petals-not-fallen"), (date(2026, 7, 1), None)],
)
def test_petals_must_have_fallen_where_the_label_says_so(
    a_week, a_product, blooming, codes, day, code
):
    # [EPA-BEES] not until flowering is complete and all petals have fallen
    week = a_week(day=day, product=a_product(bloom_rule=BloomRule.UNTIL_PETALS_FALL))

    assert codes(check_pollinators(week, blooming())) == ([code] if code else [])


def test_shortly_before_the_bloom_petals_have_not_fallen_either(a_week, a_product, blooming, codes):
    week = a_week(day=date(2026, 4, 20), product=a_product(bloom_rule=BloomRule.UNTIL_PETALS_FALL))

    assert codes(check_pollinators(week, blooming())) == ["before-bloom"]


@pytest.mark.parametrize(("day", "before"), [(6, False), (7, True)])
def test_the_bloom_that_is_nearer_is_meant(a_week, a_product, blooming, codes, day, before):
    # 160 days lie from 29 June to 6 December and from there to 15 May; that a day in the middle
    # goes by the last bloom is our own choice
    week = a_week(
        day=date(2025, 12, day), product=a_product(bloom_rule=BloomRule.UNTIL_PETALS_FALL)
    )

    found = codes(check_pollinators(week, blooming(bloom_end="06-29")))

    assert found == ["before-bloom"] * before


def test_dusk_is_allowed_where_the_label_says_not_while_bees_forage(a_week, a_product, blooming):
    # [EPA-BEES] not while bees are foraging
    product = a_product(bloom_rule=BloomRule.NOT_WHILE_FORAGING)
    by_day, at_dusk = a_week(product=product), a_week(product=product, at_dusk=True)

    assert check_pollinators(by_day, blooming())[0].severity is Severity.REFUSAL
    assert [each.severity for each in check_pollinators(at_dusk, blooming())] == [Severity.NOTE]


def test_dusk_does_not_help_where_the_label_forbids_bloom(a_week, a_product, blooming, codes):
    product = a_product(bloom_rule=BloomRule.NOT_IN_BLOOM)

    assert codes(check_pollinators(a_week(product=product, at_dusk=True), blooming())) == [
        "in-bloom"
    ]


@pytest.mark.parametrize(("day", "reaches"), [(date(2026, 4, 30), False), (date(2026, 5, 1), True)])
def test_what_moves_into_pollen_must_be_gone_before_the_bloom(
    a_week, a_product, blooming, day, reaches
):
    # from 1 May fourteen days reach 15 May, the first day of bloom; from 30 April they do not
    active = IngredientFacts("imidacloprid", "4A", moves_into_pollen=True, residual_days=14)

    findings = check_pollinators(
        a_week(day=day, product=a_product(ingredients=(active,))), blooming()
    )

    assert bool(findings) is reaches


@pytest.mark.parametrize(
    ("rule", "severity"),
    [
        (BloomRule.NONE, Severity.WARNING),
        (BloomRule.NOT_WHILE_FORAGING, Severity.WARNING),
        (BloomRule.NOT_IN_BLOOM, Severity.REFUSAL),
        (BloomRule.UNTIL_PETALS_FALL, Severity.REFUSAL),
    ],
)
def test_what_reaches_the_bloom_is_refused_where_the_label_keeps_off_it(
    a_week, a_product, blooming, rule, severity
):
    # the label's own words; that a residue counts as being in bloom is our own choice
    active = IngredientFacts("imidacloprid", "4A", moves_into_pollen=True, residual_days=14)
    week = a_week(day=date(2026, 5, 10), product=a_product(ingredients=(active,), bloom_rule=rule))

    told = {each.code: each.severity for each in check_pollinators(week, blooming())}

    assert told["reaches-bloom"] is severity


def test_the_last_day_before_the_bloom_is_told(a_week, a_product, blooming):
    active = IngredientFacts("imidacloprid", "4A", moves_into_pollen=True, residual_days=14)
    week = a_week(day=date(2026, 5, 10), product=a_product(ingredients=(active,)))

    (finding,) = check_pollinators(week, blooming())

    assert finding.say_remedy() == "Not after 2026-04-30, or once the bloom is over."


@pytest.mark.parametrize(
    ("hazard", "at_dusk", "code"),
    [
        ("high", False, "bee-hazard"),
        ("high", True, "bee-hazard"),
        ("moderate", False, "bee-hazard-by-day"),
        ("moderate", True, None),
        ("low", False, None),
    ],
)
def test_hazard_to_bees_follows_its_class(
    a_week, a_product, blooming, codes, hazard, at_dusk, code
):
    # [UC-IPM-BEES] I not on flowering plants, II only while bees do not forage, III no precaution
    product = a_product(ingredients=(IngredientFacts("an active", bee_hazard=hazard),))

    findings = check_pollinators(a_week(product=product, at_dusk=at_dusk), blooming())

    assert codes(findings) == ([code] if code else [])


def test_plants_that_no_bee_visits_are_left_to_the_label(a_week, a_product, blooming):
    product = a_product(ingredients=(IngredientFacts("an active", bee_hazard="high"),))

    assert check_pollinators(a_week(product=product), blooming(attracts_bees=False)) == []


def test_hives_nearby_are_thought_of_without_a_bloom(a_week, a_product, a_planting, codes):
    product = a_product(ingredients=(IngredientFacts("an active", bee_hazard="high"),))

    assert codes(check_pollinators(a_week(product=product), a_planting(bees_near=True))) == [
        "hives-near"
    ]


def test_oil_stays_off_open_flowers(a_week, a_product, blooming, codes):
    # common practice
    oil = IngredientFacts("oil", separation_class=SeparationClass.OIL)

    assert codes(check_pollinators(a_week(product=a_product(ingredients=(oil,))), blooming())) == [
        "open-flowers"
    ]

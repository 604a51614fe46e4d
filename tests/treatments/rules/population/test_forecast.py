"""Where a count is heading: growth, visits, the band, and what stands beside it."""

from datetime import date, timedelta

import numpy as np
import pytest

from treatments.rules.degree_days import HeatDay
from treatments.rules.population import (
    CountUnusable,
    GrowthFactor,
    Kill,
    Stage,
    StageCounts,
    Treatment,
    forecast,
)
from treatments.rules.population.cautions import (
    few_digits,
    how_sure,
    what_to_mind,
    what_worsens,
)
from treatments.rules.population.course import Band, _drawn_coverage, band_of
from treatments.rules.population.visits import COVERAGE, COVERAGE_LEAST, COVERAGE_MOST

FULL = GrowthFactor(1.0, 1.0, 1.0)
FIRST = date(2026, 6, 1)
FIVE = StageCounts(motiles=5)


def codes_of(findings):
    return [finding.code for finding in findings]


def expected(run, stage=Stage.MOTILES):
    return [each.levels[stage].expected for each in run.days]


def test_mites_left_alone_double_every_three_days_at_25_degrees(steady):
    # ln 2 / (0.016 * 15) = 2.9 days; the small steps come out 0.3 % low
    motiles = expected(forecast(FIVE, steady(25, 29), growth=FULL))

    assert motiles[29] / motiles[0] == pytest.approx(2 ** (29 / 2.888), rel=0.03)


def test_a_visit_that_kills_nine_in_ten_leaves_a_tenth_and_the_same_growth(steady, weekly):
    visit = weekly(Kill(0.9, 0.9, 0.9, 0.9), coverage=1)
    alone, treated = (expected(forecast(FIVE, steady(), each)) for each in ([], visit))

    assert treated[0] == alone[0]
    assert np.array(treated[1:]) / alone[1:] == pytest.approx(0.1)


def test_eggs_that_a_contact_spray_leaves_hatch_within_their_heat(steady, weekly):
    # all moving mites dead; 75 degree-days hatch nine in ten eggs of mixed age, 62 being the mean,
    # before the first of them lay again
    run = forecast(FIVE, steady(25, 5), weekly(Kill(0, 1, 1, 1), coverage=1), growth=FULL)
    eggs, motiles = expected(run, Stage.EGGS), expected(run)

    assert motiles[1] < 0.4 * motiles[0]  # none but a day's hatch
    assert eggs[5] < 0.1 * eggs[0]


def test_a_day_is_told_as_it_is_before_its_visit(steady, weekly, soap):
    run = forecast(FIVE, steady(), weekly(soap, soap))

    assert run.days[0].motiles.expected == pytest.approx(5)
    assert run.days[1].motiles.expected < 0.5 * 5
    assert [each.treated_with for each in run.days[6:8]] == [(), ("product 2",)]


def test_cold_days_let_nothing_develop(steady):
    motiles = expected(forecast(FIVE, steady(10, 10)))

    assert motiles == pytest.approx([5] * 11)


def test_what_was_not_counted_is_as_in_a_settled_population(steady):
    first = forecast(FIVE, steady(number=1), growth=FULL).days[0]

    eggs = first.levels[Stage.EGGS].expected

    # [COTTON-STAGES] 65 % eggs
    assert eggs / (eggs + 5) == pytest.approx(0.65, abs=0.06)


def test_counted_stages_are_taken_as_counted(steady):
    counts = StageCounts(eggs=3, larvae=0, nymphs=2, adults=1)

    first = forecast(counts, steady(number=1)).days[0]

    assert [first.levels[stage].expected for stage in Stage] == pytest.approx([3, 0, 2, 1, 3])


@pytest.mark.parametrize("killed", list(Stage)[:4])
def test_a_visit_kills_in_the_stage_that_it_reaches_and_in_no_other(steady, weekly, killed):
    # on a cold day nothing develops: half of the one stage is left, and all of the others
    counts = StageCounts(eggs=8, larvae=6, nymphs=4, adults=2)
    kill = Kill(*(0.5 if stage is killed else 0 for stage in list(Stage)[:4]))

    last = forecast(counts, steady(10, 1), weekly(kill, coverage=1)).days[1]

    left = {Stage.EGGS: 8, Stage.LARVAE: 6, Stage.NYMPHS: 4, Stage.ADULTS: 2}
    left[killed] /= 2
    assert [last.levels[stage].expected for stage in left] == pytest.approx(list(left.values()))


def test_one_stage_that_was_counted_tells_the_others_of_a_settled_population(steady):
    settled = forecast(FIVE, steady(number=1), growth=FULL).days[0]
    adults = settled.levels[Stage.ADULTS].expected

    first = forecast(StageCounts(adults=adults), steady(number=1), growth=FULL).days[0]

    assert first.motiles.expected == pytest.approx(5)


def test_a_band_holds_four_in_five_of_the_draws():
    # by hand: of 0 to 100 ten lie below 10 and ten above 90
    assert band_of(np.array([50, *range(101)])) == Band(50, 10, 90)


def test_the_coverage_drawn_lies_about_what_was_expected_of_it():
    drawn = _drawn_coverage(2_000, np.random.default_rng(1))

    assert COVERAGE_LEAST <= COVERAGE * min(drawn) < COVERAGE_LEAST + 0.02
    assert COVERAGE_MOST - 0.02 < COVERAGE * max(drawn) <= COVERAGE_MOST


def test_the_band_holds_the_expected_line_and_widens(steady, weekly, soap):
    run = forecast(FIVE, steady(), weekly(soap, soap))
    bands = [each.motiles for each in run.days]

    assert all(band.low <= band.expected <= band.high for band in bands)
    assert bands[30].high / bands[30].low > bands[5].high / bands[5].low


def test_the_same_seed_draws_the_same_band(steady):
    runs = [forecast(FIVE, steady(), seed=seed).mite_days for seed in (3, 3, 4)]

    assert runs[0] == runs[1]
    assert runs[0].high != runs[2].high
    assert runs[0].expected == runs[2].expected


def test_mite_days_are_counted_from_after_a_visit(steady, weekly):
    run = forecast(FIVE, steady(10, 4), weekly(Kill(1, 1, 1, 1), coverage=1))

    assert run.mite_days.expected == 0


def test_mites_that_stay_as_they_are_are_so_many_mite_days_a_day(steady):
    # 5 a leaf for four days are 20
    assert forecast(FIVE, steady(10, 4)).mite_days.expected == pytest.approx(20)


def test_a_visit_before_the_forecast_acts_by_its_residue(steady):
    kill = Kill(0, 0.5, 0.5, 0.5, residual_days=20, half_life_days=20)
    earlier = Treatment(FIRST - timedelta(days=3), "lasting", kill)
    alone, treated = (forecast(FIVE, steady(), each).mite_days for each in ([], [earlier]))

    assert treated.expected < alone.expected


def test_crowding_holds_the_mites_near_what_a_leaf_bears(steady):
    # two weeks of eggs are laid already when the leaf is full, so the level is passed for a time
    motiles = expected(forecast(FIVE, steady(25, 200), growth=FULL, draws=2, most_motiles=50))

    assert max(motiles) < 4 * 50
    assert 5 < motiles[-1] < 2 * 50


def test_the_first_day_over_a_threshold(steady):
    run = forecast(FIVE, steady(25), growth=FULL)

    assert run.first_day_over(5 * 0.999) == FIRST
    assert FIRST < run.first_day_over(20) < FIRST + timedelta(days=8)
    assert run.first_day_over(1e9) is None


def test_a_threshold_is_reached_at_its_own_figure(steady):
    # common practice: at or over it
    run = forecast(FIVE, steady(25), growth=FULL)

    assert run.first_day_over(run.days[3].motiles.expected) == run.days[3].day


def test_weekly_soap_does_not_hold_mites_in_heat_and_that_is_said(steady, weekly, soap):
    run = forecast(FIVE, steady(25), weekly(*[soap] * 6), growth=FULL)

    assert codes_of(run.cautions)[0] == "contact-only-does-not-hold"


def test_soap_does_not_hold_mites_from_the_day_on_which_they_are_more_than_at_first(
    steady, weekly, soap
):
    visits = weekly(soap)
    motiles = expected(forecast(FIVE, steady(25), visits, growth=FULL))
    more = next(day for day, level in enumerate(motiles) if day and level > motiles[0])

    told = [
        codes_of(forecast(FIVE, steady(25, number), visits, growth=FULL).cautions)
        for number in (more - 1, more)
    ]

    assert ["contact-only-does-not-hold" in codes for codes in told] == [False, True]


def test_products_that_reach_eggs_and_last_are_not_told_off(steady, weekly, soap):
    lasting = Kill(0.5, 0.9, 0.95, 0.95, residual_days=14, half_life_days=7)

    run = forecast(FIVE, steady(25), weekly(lasting, soap), growth=FULL)

    assert "contact-only-does-not-hold" not in codes_of(run.cautions)


@pytest.mark.parametrize(("days_before", "is_told"), [(14, False), (15, True)])
def test_what_has_left_the_leaf_does_not_stand_for_later_visits(
    steady, weekly, soap, days_before, is_told
):
    lasting = Kill(0, 0.1, 0.1, 0.1, residual_days=14, half_life_days=7)
    earlier = Treatment(FIRST - timedelta(days=days_before), "lasting", lasting)

    run = forecast(FIVE, steady(25), [earlier, *weekly(*[soap] * 6)], growth=FULL)

    assert (codes_of(run.cautions)[0] == "contact-only-does-not-hold") is is_told


def test_a_visit_that_acts_no_more_is_none(steady, soap):
    earlier = Treatment(FIRST - timedelta(days=1), "soap", soap)

    run = forecast(FIVE, steady(25), [earlier], growth=FULL)

    assert run == forecast(FIVE, steady(25), growth=FULL)


@pytest.mark.parametrize(
    ("kill", "warned"),
    [
        (Kill(0, 0.9, 0.9, 0.9), True),
        (Kill(0.01, 0.9, 0.9, 0.9), False),
        (Kill(0, 0.9, 0.9, 0.9, residual_days=1, half_life_days=1), False),
    ],
)
def test_eggs_that_are_killed_or_a_residue_are_more_than_contact_alone(weekly, kill, warned):
    assert bool(what_worsens(5, 6, weekly(kill))) is warned
    assert what_worsens(5, 5, weekly(kill)) == what_worsens(5, 6, []) == []


@pytest.mark.parametrize(
    ("known", "code"),
    [({"forecast": True}, "heat-forecast"), ({"filled": True}, "heat-filled")],
)
def test_heat_that_was_not_measured_is_told(steady, known, code):
    assert code in codes_of(forecast(FIVE, steady(**known)).cautions)


def test_every_forecast_puts_the_label_first(steady):
    cautions = forecast(FIVE, steady(), growth=FULL).cautions

    assert {"label-first", "not-modelled", "not-fitted"} <= set(codes_of(cautions))


def test_mites_that_fell_without_a_visit_are_taken_as_steady(steady):
    run = forecast(FIVE, steady(), growth=GrowthFactor(-1.5, -0.8, -0.1, fitted=True))

    assert expected(run) == pytest.approx([5] * 43, rel=0.01)
    assert "fell-untreated" in codes_of(run.cautions)


@pytest.mark.parametrize(("likely", "told"), [(0, True), (0.01, False)])
def test_a_growth_of_nothing_is_a_fall(steady, likely, told):
    found = codes_of(what_to_mind(steady(), GrowthFactor(-0.5, likely, 0.5, fitted=True)))

    assert ("fell-untreated" in found) is told


@pytest.mark.parametrize(
    ("figure", "told"), [(10, "10"), (10.4, "10"), (9.9, "9.9"), (1, "1.0"), (0.99, "0.99")]
)
def test_a_figure_has_two_digits_that_count(figure, told):
    assert few_digits(figure) == told


@pytest.mark.parametrize(
    ("high", "code"),
    [
        (8, "fairly-sure"),
        (8.1, "rough-guide"),
        (40, "rough-guide"),
        (40.1, "only-a-direction"),
    ],
)
def test_how_sure_a_band_is_goes_by_its_ends(high, code):
    # our own choice: four times and twenty times
    assert how_sure(2, high).code == code


def test_growth_that_was_not_fitted_is_told_in_percent(steady):
    cautions = forecast(FIVE, steady(), growth=GrowthFactor(0.5, 0.7, 1.0)).cautions

    assert [each.facts["percent"] for each in cautions if each.code == "not-fitted"] == ["70"]


@pytest.mark.parametrize(("number", "code"), [(1, "fairly-sure"), (120, "only-a-direction")])
def test_a_long_forecast_is_less_sure(steady, number, code):
    run = forecast(FIVE, steady(number=number))
    end = run.days[-1]

    assert run.sureness.code == code
    assert end.day == FIRST + timedelta(days=number)
    assert run.sureness.facts == {
        "low": few_digits(end.motiles.low),
        "high": few_digits(end.motiles.high),
    }


@pytest.mark.parametrize(
    ("counts", "sentence"),
    [
        (StageCounts(), "nothing to forecast"),
        (StageCounts(motiles=0), "nothing to forecast"),
        (StageCounts(motiles=-1), "zero or more"),
    ],
)
def test_counts_that_tell_nothing_are_refused(steady, counts, sentence):
    with pytest.raises(CountUnusable, match=sentence):
        forecast(counts, steady())


@pytest.mark.parametrize("number", [0, 367])
def test_a_forecast_runs_over_a_year_at_most(steady, number):
    with pytest.raises(CountUnusable, match="1 to 366 days"):
        forecast(FIVE, steady(number=number))


def test_a_forecast_over_a_whole_leap_year_is_made(steady):
    assert len(forecast(FIVE, steady(10, 366), draws=1).days) == 367


def test_days_with_a_gap_are_refused():
    days = [HeatDay(FIRST, 10.0, 10.0), HeatDay(FIRST + timedelta(days=2), 10.0, 20.0)]

    with pytest.raises(CountUnusable, match="without a gap"):
        forecast(FIVE, days)

"""The mildest step that will do, and what is said of the others."""

from dataclasses import replace

import pytest

from treatments.rules.ladder import Situation, Standing, Step, findings_beside, propose

MITES = Situation("two-spotted spider mite", count=8, threshold=5)


def proposed_for(**changes):
    return propose(replace(MITES, **changes)).proposed.step


def standing_of(step, **changes):
    rungs = propose(replace(MITES, **changes)).rungs
    return next(rung.standing for rung in rungs if rung.step is step)


@pytest.mark.parametrize(
    ("changes", "step"),
    [
        ({"count": 0}, Step.WATCH),
        ({"predators": 0.8}, Step.WATCH),  # common practice: one to ten hold them
        ({"predators": 0.79}, Step.SOAP_OR_OIL),
        ({"count": 30, "predators": 5}, Step.SELECTIVE),
        ({"threshold": None}, Step.WATER_AND_WASH),
        ({"count": 4.9}, Step.WATER_AND_WASH),
        ({"count": 4.9, "releasable": True}, Step.BENEFICIALS),
        ({"count": 5}, Step.SOAP_OR_OIL),
        ({"count": 3, "days_to_threshold": 7}, Step.SOAP_OR_OIL),
        ({"count": 3, "days_to_threshold": 8}, Step.WATER_AND_WASH),
        ({"count": 24.9}, Step.SOAP_OR_OIL),
        ({"count": 25}, Step.SELECTIVE),
        ({"contact_failed": 1}, Step.SELECTIVE),
        ({"selective_failed": 1}, Step.SELECTIVE),
        ({"selective_failed": 1, "is_mite": False}, Step.BROAD),
        ({"selective_failed": 1, "is_mite": False, "in_bloom": True}, Step.SELECTIVE),
    ],
)
def test_the_mildest_step_that_will_do(changes, step):
    assert proposed_for(**changes) is step


@pytest.mark.parametrize("count", [0, 1, 8, 100])
def test_broad_products_are_never_proposed_against_mites(count):
    # [UC-IPM-BEES] they kill the predators for long
    assert standing_of(Step.BROAD, count=count, selective_failed=3) is Standing.RULED_OUT


def test_water_and_cleaning_go_along_with_a_spray():
    assert standing_of(Step.WATER_AND_WASH) is Standing.ALONG
    assert standing_of(Step.CLEAN_UP) is Standing.ALONG
    assert standing_of(Step.WATCH) is Standing.PASSED


@pytest.mark.parametrize(
    ("releasable", "standing"), [(True, Standing.ALONG), (False, Standing.RULED_OUT)]
)
def test_predators_go_along_where_they_fit(releasable, standing):
    assert standing_of(Step.BENEFICIALS, releasable=releasable) is standing


@pytest.mark.parametrize(
    ("releasable", "standing"), [(True, Standing.NOT_YET), (False, Standing.RULED_OUT)]
)
def test_while_watching_does_predators_wait_or_do_not_fit(releasable, standing):
    assert standing_of(Step.BENEFICIALS, count=0, releasable=releasable) is standing


def test_where_no_pest_is_predators_hold_none():
    assert not replace(MITES, count=0, predators=3).is_held_by_predators
    assert replace(MITES, count=0.5, predators=0.05).is_held_by_predators


def test_without_a_threshold_nothing_is_over_it():
    assert not replace(MITES, threshold=None, count=99).is_over


@pytest.mark.parametrize(
    ("step", "code"), [(Step.BROAD, "last-resort"), (Step.SELECTIVE, "milder-does")]
)
def test_a_step_that_waits_says_what_for(step, code):
    rungs = propose(replace(MITES, is_mite=False)).rungs

    assert next(rung.reason.code for rung in rungs if rung.step is step) == code


@pytest.mark.parametrize("count", [0, 1, 8, 60])
def test_every_rung_has_one_standing_and_a_reason_that_reads(count):
    ladder = propose(replace(MITES, count=count))

    assert [rung.step for rung in ladder.rungs] == list(Step)
    assert sum(rung.standing is Standing.PROPOSED for rung in ladder.rungs) == 1
    assert all(rung.reason.say() and rung.reason.source for rung in ladder.rungs)


def test_a_broad_product_against_insects_stays_a_last_resort():
    assert standing_of(Step.BROAD, is_mite=False) is Standing.NOT_YET
    assert standing_of(Step.BROAD, is_mite=False, in_bloom=True) is Standing.RULED_OUT


def test_the_reason_names_the_count_and_the_threshold():
    reason = propose(MITES).proposed.reason

    assert reason.say() == "8 two-spotted spider mite are at or over the threshold of 5."


@pytest.mark.parametrize(("count", "code"), [(4.9, "soon-over-threshold"), (5, "over-threshold")])
def test_a_count_at_the_threshold_is_no_longer_told_as_soon_over_it(count, code):
    # common practice: the threshold is reached at its own figure
    situation = replace(MITES, count=count, days_to_threshold=7)

    assert propose(situation).proposed.reason.code == code


@pytest.mark.parametrize(
    ("changes", "codes"),
    [
        ({}, ["count-again"]),
        ({"drought_stressed": True}, ["count-again", "water-first"]),
        ({"temperature_f": 90}, ["count-again"]),  # [UC-IPM-PN7493] not above 90 F
        ({"temperature_f": 90.1}, ["count-again", "too-hot-for-soap-or-oil"]),
    ],
)
def test_what_is_to_be_minded_today(changes, codes):
    assert [each.code for each in findings_beside(replace(MITES, **changes))] == codes

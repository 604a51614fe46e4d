"""What is proposed from the book: its products, store, records, wishes and fixed weeks."""

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from clients.models import Planting
from tests.shelf import keep_shelf, kept
from treatments.composing import FindingsStand, finding_key
from treatments.models import EarlierApplication, Lot, Product, Rotation
from treatments.proposing import SKIPPED, Asked, NothingOnOffer, keep_proposal, propose
from treatments.recording import record_application
from treatments.rules.composing import Family, Wishes
from treatments.storekeeping import count_lot

MONDAY = date(2026, 7, 6)


@pytest.fixture
def shelf(owner):
    """An oil and four miticides in the store."""
    return keep_shelf(owner)


@pytest.fixture
def asked(rose_bed, spider_mite, applicator):
    """Six weeks against mites on the roses from a Monday in July, at 68 °F day and night."""
    bed = Planting.objects.select_related("property__client").get(pk=rose_bed.pk)
    return Asked(
        plantings=(bed,),
        pest=spider_mite,
        first_day=MONDAY,
        weeks=6,
        today=MONDAY,
        nights_f=Decimal(68),
        afternoons_f=Decimal(68),
    )


def names(proposed, plan=0):
    return [
        proposed.products[code].name if code else "" for code in proposed.answer.plans[plan].codes()
    ]


def said(findings):
    return {finding.code for finding in findings}


def test_three_different_rotations_are_proposed_in_order(asked, shelf):
    plans = propose(asked).answer.plans

    objectives = [plan.objective for plan in plans]
    assert len({frozenset(plan.codes()) for plan in plans}) == 3
    assert objectives == sorted(objectives)


def test_eggs_are_reached_again_before_an_egg_becomes_a_laying_female(asked, shelf):
    proposed = propose(asked)

    # [CANENT-1981] at 20 °C, between 152.3 and 139.8 degree-days at 18 and 21 °C: 14 to 15 days
    # from egg to adult, and [EAJBS-12844] less than a day and a half more until it lays.
    assert proposed.egg_reach.days == 15
    eggs = [name in ("Still Oil", "Young Stop", "All Stop") for name in names(proposed)]
    assert all(any(eggs[week : week + 2]) for week in range(4))


def test_colder_nights_give_eggs_more_days(asked, shelf):
    mild = propose(replace(asked, nights_f=Decimal(55), afternoons_f=Decimal(70)))

    assert mild.egg_reach.days > 15


def test_a_fixed_week_has_its_product_and_a_skipped_one_none(asked, shelf):
    pins = {2: str(shelf["Last Word"].pk), 4: SKIPPED}

    proposed = propose(replace(asked, pins=pins))

    assert names(proposed)[1] == "Last Word"
    assert names(proposed)[3] == ""


def test_a_week_fixed_to_what_is_not_on_offer_is_free_again(asked, shelf):
    proposed = propose(replace(asked, pins={2: "999999"}))

    assert proposed.gone == (2,)
    assert names(proposed)[1]


def test_a_product_that_mites_increase_after_is_left_out(asked, shelf, owner):
    kept("Barge Pole", "imidacloprid", "4A", ["nymph", "adult"], {}, owner)

    (left_out,) = propose(asked).left_out

    assert (left_out.product.name, left_out.finding.code) == ("Barge Pole", "holds-not")


def test_a_label_that_names_the_pest_is_believed(asked, shelf, owner, spider_mite):
    product = kept("Barge Pole", "imidacloprid", "4A", ["nymph", "adult"], {}, owner)
    product.rates.update(pest=spider_mite)

    assert propose(asked).left_out == ()


def test_a_product_without_a_rate_for_the_site_is_left_out(asked, shelf):
    shelf["Slow Mist"].rates.update(plant_group="conifer")

    (left_out,) = propose(asked).left_out

    assert left_out.finding.code == "no-rate"


def test_without_any_product_nothing_is_on_offer(asked):
    with pytest.raises(NothingOnOffer):
        propose(asked)


def test_organic_only_with_nothing_but_oil_in_drought_says_which_wish_frees_a_rotation(
    asked, shelf
):
    asked.plantings[0].drought_stressed = True
    wishes = Wishes(organic_only=True, without_warnings=True)

    conflict = propose(replace(asked, weeks=4, wishes=wishes)).answer.conflict

    assert set(conflict.families) == {Family.ORGANIC_WISH, Family.WARNINGS, Family.VISITS}
    assert {(Family.ORGANIC_WISH,), (Family.WARNINGS,)} <= set(conflict.remedies)


def test_the_wish_that_frees_a_rotation_does_so(asked, shelf):
    asked.plantings[0].drought_stressed = True
    wishes = Wishes(without_warnings=True, given_up=frozenset({Family.ORGANIC_WISH}))

    proposed = propose(replace(asked, weeks=4, wishes=replace(wishes, organic_only=True)))

    assert proposed.answer.plans
    assert "Still Oil" not in names(proposed)


def test_what_the_law_asks_is_not_offered_to_be_given_up(asked, owner):
    keep_shelf(owner, ["Still Oil"], maximum_applications_per_year=2)

    conflict = propose(asked).answer.conflict

    assert Family.TOTALS in conflict.families
    assert conflict.remedies == ((Family.VISITS,),)


def test_given_up_visits_leave_out_no_more_weeks_than_must_be(asked, owner):
    keep_shelf(owner, ["Still Oil"], maximum_applications_per_year=2)
    wishes = Wishes(given_up=frozenset({Family.VISITS, Family.EGGS}))

    proposed = propose(replace(asked, wishes=wishes))

    assert sorted(names(proposed)) == ["", "", "", "", "Still Oil", "Still Oil"]


def test_in_bloom_a_spray_moves_to_dusk_when_bees_forbid_the_day(asked, shelf):
    bed = asked.plantings[0]
    bed.attracts_bees = True
    Product.objects.update(bloom_rule="not while bees forage")

    proposed = propose(replace(asked, first_day=date(2026, 5, 4), today=date(2026, 5, 4)))

    at_dusk = [week.application.at_dusk for week in proposed.answer.plans[0].weeks]
    # The bed blooms from 20 May: weeks of 4, 11 and 18 May are before it.
    assert at_dusk == [False, False, False, True, True, True]


def test_in_bloom_another_product_takes_the_place_of_one_that_bloom_bars(asked, shelf):
    shelf["Young Stop"].bloom_rule = "not in bloom"
    shelf["Young Stop"].save()
    asked.plantings[0].attracts_bees = True

    proposed = propose(
        replace(
            asked,
            first_day=date(2026, 5, 25),
            today=date(2026, 5, 25),
            wishes=Wishes(without_warnings=False),
        )
    )

    barred = proposed.answer.barred
    assert said(barred[1, str(shelf["Young Stop"].pk)]) == {"in-bloom"}
    assert "Young Stop" not in names(proposed)[:3]


def test_what_was_applied_since_the_first_day_is_done(asked, shelf, stated):
    record_application(**stated)  # soap, on the evening of the first Monday

    proposed = propose(replace(asked, today=date(2026, 7, 8)))

    first, *others = proposed.answer.plans[0].weeks
    assert first.pin.applied.product.name == "Quiet Soap"
    assert all(week.application for week in others)


def test_what_was_applied_before_this_book_counts_among_the_proposals(asked, shelf, soap):
    EarlierApplication.objects.create(
        planting=asked.plantings[0],
        applied_on=date(2026, 7, 7),
        product=soap,
        product_name=soap.name,
        taken_from="past.csv",
        taken_over_at=datetime(2026, 7, 8, tzinfo=UTC),
    )

    proposed = propose(replace(asked, today=date(2026, 7, 8)))

    assert proposed.answer.plans[0].weeks[0].pin.applied.product.name == soap.name


def test_a_week_that_is_over_without_a_visit_is_skipped(asked, shelf):
    proposed = propose(replace(asked, today=date(2026, 7, 14)))

    assert names(proposed)[:2] == ["", ""]


def test_what_the_store_lacks_is_bought_where_that_is_allowed(asked, owner):
    keep_shelf(owner)

    for lot in Lot.objects.all():
        count_lot(lot, counted=Decimal(0), by=owner)

    assert propose(asked).answer.plans[0].to_buy
    conflict = propose(replace(asked, may_buy=False)).answer.conflict
    assert Family.STOCK in conflict.families


def test_the_number_of_queries_does_not_grow(
    asked, shelf, owner, django_assert_num_queries, rose_bed
):
    kept("Another", "acequinocyl", "20B", ["egg"], {}, owner)
    for weeks in (3, 12):
        with django_assert_num_queries(10):
            propose(replace(asked, weeks=weeks))


def test_a_proposal_is_kept_as_it_was_shown(asked, shelf, owner):
    plan = propose(asked).answer.plans[1]

    rotation, first_day = keep_proposal(asked, codes=plan.codes(), name="Mites in July", by=owner)

    assert [str(week.product_id) for week in rotation.weeks.all()] == list(plan.codes())
    assert first_day == MONDAY


def test_weeks_left_out_fall_away_and_the_next_comes_later(asked, shelf, owner):
    asked = replace(asked, pins={3: SKIPPED})
    plan = propose(asked).answer.plans[0]

    rotation, _day = keep_proposal(asked, codes=plan.codes(), name="Mites in July", by=owner)

    assert [week.planned_days for week in rotation.weeks.all()] == [7, 7, 14, 7, 7]


def test_a_warning_still_wants_a_reason(asked, owner):
    keep_shelf(owner)
    asked.plantings[0].drought_stressed = True
    Planting.objects.update(drought_stressed=True)
    oil = str(Product.objects.get(name="Still Oil").pk)
    asked = replace(asked, pins={1: oil}, wishes=Wishes(without_warnings=False))
    codes = propose(asked).answer.plans[0].codes()

    with pytest.raises(FindingsStand) as stand:
        keep_proposal(asked, codes=codes, name="Mites in July", by=owner)
    reasons = {finding_key(each): "Watered on Sunday." for each in stand.value.findings}
    keep_proposal(asked, codes=codes, name="Mites in July", by=owner, reasons=reasons)

    assert Rotation.objects.get().accepted_warnings.count() == len(reasons)


def test_a_plan_that_the_book_no_longer_lets_pass_is_not_kept(asked, shelf, owner):
    codes = propose(asked).answer.plans[0].codes()
    Product.objects.update(maximum_applications_per_year=0)

    with pytest.raises(ValidationError) as changed:
        keep_proposal(asked, codes=codes, name="Mites in July", by=owner)

    assert changed.value.code == "changed"
    assert not Rotation.objects.exists()

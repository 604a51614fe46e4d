"""Under which rules records are checked: the book's table, the business's own, by the day."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import ValidationError

from treatments.models import OwnRuleSet
from treatments.recording import amend_application, clocks_of, record_application, what_is_missing
from treatments.recording.clocks import rules_of
from treatments.rulebook import (
    as_confirmed,
    choose_rules,
    confirm_facts,
    confirmed_facts,
    enter_ruleset,
    notices_at,
    posting_at,
    state_rules_at,
)
from treatments.rules.records import ruleset_of, rulesets_for, table_rulesets

AT = datetime(2026, 7, 1, 12, tzinfo=UTC)
REASON = "The hedge was meant, not the bed."
FIELDS = ["application_date", "product_name", "permit_no"]


def enter(owner, *, valid_from=date(2026, 7, 1), **told):
    row = {
        "name": "Our county's rule",
        "citation": "County code 1-2",
        "valid_from": valid_from,
        "required_fields": FIELDS,
        "record_deadline_hours": 12,
        "retention_years": 10,
    }
    return enter_ruleset(jurisdiction="US-PA", by=owner, at=AT, **row | told)


def work_under_own(owner, day=date(2026, 7, 1)):
    return choose_rules(jurisdiction="US-PA", uses="own", holds_from=day, by=owner, at=AT)


def test_a_record_keeps_the_edition_of_the_table_that_it_was_checked_by(stated):
    record = record_application(**stated)

    assert record.rules_checked_by == ruleset_of("US-PA").key


def test_a_record_goes_by_the_rules_that_the_business_chose(stated, owner):
    enter(owner)
    work_under_own(owner)

    record = record_application(**stated)  # of 6 July

    assert clocks_of(record).kept.years == 10
    assert [needed.field for needed in what_is_missing(record)] == ["permit_no"]


def test_work_before_the_choice_goes_by_the_table(stated, owner):
    enter(owner)
    work_under_own(owner, date(2026, 7, 7))

    assert rules_of(record_application(**stated))[0].code == "PA"


def test_a_record_keeps_its_version_when_another_is_entered(stated, owner):
    enter(owner)
    work_under_own(owner)
    record = record_application(**stated)
    enter(owner, retention_years=1)

    assert clocks_of(record).kept.years == 10
    assert clocks_of(amend_application(record, reason=REASON, by=owner, note="x")).kept.years == 1


def test_a_version_holds_from_its_day(owner):
    enter(owner)
    second = enter(owner, valid_from=date(2026, 9, 1), retention_years=4)
    work_under_own(owner)

    assert state_rules_at("US-PA", date(2026, 8, 31)).row["retention_years"] == 10
    assert state_rules_at("US-PA", date(2026, 9, 1)).row["retention_years"] == 4
    assert second.number == 2


def test_a_version_does_not_hold_before_the_one_it_follows(owner):
    enter(owner)

    with pytest.raises(ValidationError, match="follows it"):
        enter(owner, valid_from=date(2026, 6, 30))


def test_what_an_own_rule_set_does_not_say_is_not_known(stated, owner):
    enter(owner, record_deadline_hours=None, retention_years=None)
    work_under_own(owner)

    clocks = clocks_of(record_application(**stated))

    # The shortest deadline [PA-128-35] and the longest keeping time [WA-17-21] of the table.
    assert (clocks.due.known, clocks.kept.known, clocks.kept.years) == (False, False, 7)


def test_own_rules_cannot_be_chosen_before_they_are_entered(owner):
    with pytest.raises(ValidationError, match="Enter it first"):
        work_under_own(owner)


def test_a_choice_is_kept_once(owner):
    enter(owner)

    assert [work_under_own(owner), work_under_own(owner)] == [True, False]


def test_a_version_is_not_changed(owner):
    own = enter(owner)
    own.retention_years = 1

    with pytest.raises(ValidationError, match="is not changed"):
        own.save()
    with pytest.raises(ValidationError):
        OwnRuleSet.objects.update(retention_years=1)


def test_a_deadline_is_given_in_hours_or_in_days(owner):
    with pytest.raises(ValidationError, match="not in both"):
        enter(owner, record_deadline_days=2)


def confirm(owner, *facts):
    return confirm_facts(
        ruleset_of("US-PA"),
        facts,
        compared_on=date(2026, 7, 1),
        compared_with="7 Pa. Code 128.35(d), read at the state's library",
        by=owner,
        at=AT,
    )


def test_what_was_compared_with_the_code_is_marked_so(owner):
    # [PA-128-35] the three years are told from memory of the present text
    assert ruleset_of("US-PA").mark_of("retention_years") == "memory"

    confirm(owner, "retention_years")

    (known,) = as_confirmed([ruleset_of("US-PA")], confirmed_facts())
    assert known.mark_of("retention_years") == "confirmed"


def test_a_fact_is_confirmed_once_and_only_as_it_is(owner):
    assert [confirm(owner, "retention_years"), confirm(owner, "retention_years")] == [1, 0]
    assert confirm(owner, "customer_copy_days", "no such fact") == 1


def test_a_confirmation_of_another_figure_does_not_count():
    (known,) = as_confirmed(
        [ruleset_of("US-PA")], frozenset({("PA", "retention_years", "of another")})
    )

    assert known.mark_of("retention_years") == "memory"


def test_every_rule_set_of_the_table_has_a_citation_a_mark_and_a_source():
    for ruleset in table_rulesets():
        assert ruleset.citation
        assert ruleset.mark in {"read", "memory"}
        assert ruleset.source


def test_the_rescinded_federal_rule_binds_earlier_work_only():
    # [7CFR110] rescinded with effect of 11 July 2025
    def codes(day):
        return [each.code for each in rulesets_for("US-NJ", day, restricted_use=True)]

    assert codes(date(2025, 7, 10)) == ["NJ", "US-RUP", "US-FORMER-110"]
    assert codes(date(2025, 7, 11)) == ["NJ", "US-RUP"]


NOTICE = {
    "notice_who": "whoever lives next door",
    "notice_ground": "abutting",
    "notice_days": 2,
    "notice_days_most": 5,
}


def test_notices_of_own_rules_stand_beside_those_of_the_table(owner):
    enter(owner, **NOTICE)
    before = [rule.who for rule in notices_at("US-PA", date(2026, 7, 6))]
    work_under_own(owner)

    rules = notices_at("US-PA", date(2026, 7, 6))

    assert [rule.who for rule in rules] == [*before, "whoever lives next door"]
    assert (rules[-1].days_before, rules[-1].days_before_max) == (2, 5)
    assert rules[-1].binds("abutting", None)
    assert [rule.who for rule in notices_at("US-PA", date(2026, 6, 30))] == before


@pytest.mark.parametrize(("own", "stays"), [(24, 72), (96, 96)])
def test_a_sign_never_stays_shorter_by_own_rules(owner, own, stays):
    # [NJAC-7-30-9-13] 72 hours
    enter_ruleset(
        jurisdiction="US-NJ",
        by=owner,
        at=AT,
        name="Our county's rule",
        citation="County code 1-2",
        valid_from=date(2026, 7, 1),
        required_fields=FIELDS,
        sign_hours=own,
    )
    choose_rules(jurisdiction="US-NJ", uses="own", holds_from=date(2026, 7, 1), by=owner, at=AT)

    assert posting_at("US-NJ", date(2026, 7, 6)).keep_up_hours == stays
    assert posting_at("US-NJ", date(2026, 6, 30)).keep_up_hours == 72


def test_own_rules_ask_for_a_sign_where_the_table_knows_none(owner, stated):
    enter(owner, sign_rule="any lawn", sign_hours=36, sign_remover="customer")
    work_under_own(owner)

    sign = posting_at("US-PA", date(2026, 7, 6))
    record = record_application(**stated)

    assert (sign.keep_up_hours, sign.remover, sign.mark) == (36, "customer", "own")
    assert record.removal_at == record.done_at + timedelta(hours=36)


@pytest.mark.parametrize(
    "wrong",
    [
        {"notice_who": "", "notice_ground": "abutting"},
        {"notice_who": "the neighbours", "notice_ground": ""},
        {**NOTICE, "notice_days": 6},
        {**NOTICE, "notice_hours": 48, "notice_hours_most": 24},
    ],
)
def test_a_notice_that_nobody_could_give_is_refused(owner, wrong):
    with pytest.raises(ValidationError):
        enter(owner, **wrong)

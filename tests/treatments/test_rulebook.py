"""Under which rules records are checked: the book's table, the business's own, by the day."""

from datetime import UTC, date, datetime

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

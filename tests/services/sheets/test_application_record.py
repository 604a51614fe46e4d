"""The application record on paper: every field of every rule, three times, amendments, VOID."""

import json
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from services.sheets.application_record import (
    FIELDS,
    RuleSet,
    UnknownField,
    Void,
    draw_application_records,
)
from services.sheets.application_record.fields import ALL_BUT_GA_FL, EVERY_RULE

RULESETS = Path(__file__).parents[3] / "treatments" / "rules" / "tables" / "rulesets.json"
RULES = json.loads(RULESETS.read_text(encoding="utf-8"))
CODES = "US NY PA CA NJ CT MD MN WA OR ID TX MA GA"
SHORT = {EVERY_RULE: f"{CODES} FL*", ALL_BUT_GA_FL: CODES.removesuffix(" GA")}


def with_record(records, record):
    return replace(records, records=(record,))


def codes_asking(key):
    """Return who asks for a field by the table of rules, without what is no longer law."""
    codes = set()
    for rule in RULES["rulesets"]:
        code = rule["code"].removesuffix("-RUP")
        if code != "US-FORMER-110" and key in (rule["required_fields"] or []):
            codes.add(code)
        if code != "US-FORMER-110" and key in (rule["conditional_fields"] or {}):
            codes.add(f"{code}*")
    return codes


# The fields and who asks for them: the rules as read in 2025 and 2026, such as [40CFR171-303].
@pytest.mark.parametrize("key", RULES["field_vocabulary"])
def test_a_field_that_a_rule_asks_for_names_who_asks(key):
    field = next(field for field in FIELDS if field.key == key)

    assert set(SHORT.get(field.asked_by, field.asked_by).split()) == codes_asking(key)


@pytest.mark.parametrize("field", FIELDS, ids=lambda field: field.key)
def test_every_label_is_printed(records, text_of, field):
    assert field.label in text_of(draw_application_records(records))


def test_an_empty_field_says_not_applicable(records, record, text_of):
    full = {field.key: "x" for field in FIELDS} | {"permit_no": " "}

    text = text_of(draw_application_records(with_record(records, replace(record, values=full))))

    assert text.count("not applicable") == 1


def test_the_three_times_are_printed_with_utc(records, text_of):
    text = text_of(draw_application_records(records))

    assert "Done, as stated June 18, 2026, 5:00 pm EDT (2026-06-18 21:00 UTC)" in text
    assert "Captured on the device June 18, 2026, 5:02 pm EDT" in text
    assert "Received by the office June 18, 2026, 5:30 pm EDT" in text


def test_an_amendment_shows_before_after_and_reason(records, record, amendment, text_of):
    amended = replace(record, amendments=(amendment,))

    text = text_of(draw_application_records(with_record(records, amended)))

    assert "amended once" in text
    assert "Lot number L-2219 L-2291" in text
    assert "Reason: The lot was read from the wrong jug." in text


def test_a_twice_amended_record_says_so(records, record, amendment, text_of):
    amended = replace(record, amendments=(amendment, amendment))

    assert "amended 2 times" in text_of(draw_application_records(with_record(records, amended)))


def test_a_void_record_bears_the_word_on_every_page(records, record, amendment, pages_of):
    void = Void("Entered twice.", datetime(2026, 6, 20, tzinfo=UTC), "Rosa Tindall")
    voided = replace(record, void=void, amendments=(amendment,) * 8)

    pages = pages_of(draw_application_records(with_record(records, voided)))

    assert len(pages) > 1
    assert all(max(sign["size"] for sign in page.chars) > 60 for page in pages)


def test_a_rule_set_that_is_not_verified_is_marked(records, record, text_of):
    rule = RuleSet("NJ", "New Jersey", "N.J.A.C. 7:30-7.3")

    text = text_of(
        draw_application_records(with_record(records, replace(record, rule_sets=(rule,))))
    )

    assert "New Jersey: N.J.A.C. 7:30-7.3" in text
    assert "The rules for New Jersey are not verified here" in text


def test_a_verified_rule_set_is_not_marked(records, text_of):
    assert "not verified" not in text_of(draw_application_records(records))


def test_every_record_says_who_decides(records, text_of):
    text = text_of(draw_application_records(records))

    assert "Local codes and a licensed applicator decide" in text
    assert "The label is the law." in text


def test_the_head_of_the_log_is_printed(records, text_of):
    text = text_of(draw_application_records(records))

    assert "1204 entries, root 3f2a9c3f2a9c3f2a" in text


def test_each_record_of_a_batch_counts_its_own_pages(records, record, pages_of):
    batch = replace(records, records=(record, replace(record, number="2026-0143")))

    pages = pages_of(draw_application_records(batch))

    assert [page.extract_text().count("page 1 of 1") for page in pages] == [1, 1]


@pytest.fixture
def ordinary(record):
    """A record with every field filled as long as is usual, and a label's first aid."""
    values = {each.key: "Stillwater Soap, lot 4380 (2026)" for each in FIELDS}
    first_aid = "If in eyes: hold eye open and rinse slowly with water for 15 to 20 minutes. " * 2
    return replace(record, values=values, first_aid=first_aid, signal_word="WARNING")


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("size", ["letter", "a4"])
def test_an_ordinary_record_fits_one_page(records, ordinary, pages_of, language, size):
    imprint = replace(records.imprint, language=language, paper=size)
    rule = RuleSet("NJ", "New Jersey", "N.J.A.C. 7:30-7.3")
    one = replace(ordinary, rule_sets=(rule,))

    pages = pages_of(draw_application_records(replace(records, imprint=imprint, records=(one,))))

    assert len(pages) == 1
    assert min(sign["size"] for sign in pages[0].chars) >= 6.5


def test_first_aid_stands_on_the_paper_as_the_label_printed_it(records, ordinary, text_of):
    text = text_of(draw_application_records(with_record(records, ordinary)))

    assert "First aid, as the label printed it signal word WARNING If in eyes: hold" in text


def test_who_agreed_to_an_amendment_and_a_void_is_told(records, record, amendment, text_of):
    void = Void("Entered twice.", datetime(2026, 6, 20, tzinfo=UTC), "Rosa Tindall", "I. Alvarado")
    own = replace(amendment, approved_by="")
    both = replace(record, void=void, amendments=(amendment, own))

    text = text_of(draw_application_records(with_record(records, both)))

    assert "by Rosa Tindall, approved by I. Alvarado: Entered twice." in text
    assert text.count("by Rosa Tindall, approved by I. Alvarado. Reason") == 1
    assert text.count("by Rosa Tindall. Reason") == 1


def test_a_value_for_no_field_is_refused(records, record):
    wrong = replace(record, values={"colour": "green"})

    with pytest.raises(UnknownField, match="colour"):
        draw_application_records(with_record(records, wrong))

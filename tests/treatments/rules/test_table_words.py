"""Every word that a finding or a page takes from a table is marked for the translators."""

import re
from pathlib import Path

import pytest

from treatments.rules import quantity_words, table_words
from treatments.rules.facts import SeparationClass
from treatments.rules.records import FIELDS, facts_told, table_rulesets
from treatments.rules.table_files import read_json, read_toml
from treatments.rules.units import NOT_POSITIVE, AmountUnusable, Kind, positive

RULES = Path(__file__).parents[3] / "treatments" / "rules"
NAMED = re.compile(r'positive\(\s*"([^"]+)"')
MARKED = {
    word for words in vars(table_words).values() if isinstance(words, tuple) for word in words
}
SIGN_PARTS = ("placement", "post_before_or_at", "mount", "keep_up_rule", "background", "lettering")


def rule_sets():
    return read_json("rulesets")["rulesets"]


def signs():
    return [row["posting"] for row in rule_sets() if row["posting"]]


def pests():
    for name, rows in (("heat_cues", "cue"), ("thresholds", "threshold")):
        yield from (row["pest"] for row in read_toml(name)[rows])
    for row in read_toml("beneficials")["beneficial"]:
        yield from row["against"]


def test_families_are_marked():
    assert {family.value for family in SeparationClass if family} <= MARKED


def test_formulations_and_approvals_are_marked():
    abouts = {row["about"] for row in read_toml("respirators")["prefixes"].values()}

    assert set(read_toml("formulations")["codes"].values()) <= MARKED
    assert abouts <= MARKED


def test_pests_of_the_tables_are_marked():
    assert set(pests()) <= MARKED


def test_predators_with_an_english_name_are_marked():
    names = {row["name"] for row in read_toml("beneficials")["beneficial"]}

    assert {name for name in names if name[0].islower()} <= MARKED


def test_rule_sets_and_those_who_are_told_are_marked():
    rows = rule_sets()

    assert {row["name"] for row in rows} <= MARKED
    assert {notice["who"] for row in rows for notice in row["notice"]} <= MARKED


def test_citations_with_words_beside_their_numbers_are_marked():
    names = re.compile("Lawn Care Products Application and Notice Act|subd|[A-Z][a-z]+")
    told = {row["citation"] for row in rule_sets()}
    worded = {each for each in told if re.search("[a-z]{3}", names.sub("", each))}

    assert worded == set(table_words.CITATIONS)


@pytest.mark.parametrize("part", SIGN_PARTS)
def test_what_a_rule_says_of_its_sign_is_marked(part):
    assert {sign[part] for sign in signs() if sign[part]} <= MARKED


def test_every_text_of_a_rule_set_that_a_page_tells_is_marked():
    told = [line for row in table_rulesets() for fact in facts_told(row) for line in fact.lines]
    words = {value for line in told if line.is_word for value in line.values}

    assert len(words) > 100
    assert words <= MARKED | set(FIELDS.values())


def test_what_a_sign_shows_is_marked_unless_it_is_printed_word_for_word():
    shown = {words for sign in signs() for words in sign["contents"]}

    assert {words for words in shown if words[0].islower()} <= MARKED


def test_amounts_that_may_be_refused_are_marked_by_name():
    modules = RULES.rglob("*.py")

    named = {what for path in modules for what in NAMED.findall(path.read_text(encoding="utf-8"))}

    assert named
    assert named <= set(quantity_words.QUANTITIES)
    assert {kind.value for kind in Kind} <= set(quantity_words.KINDS)


def test_a_refusal_is_said_in_the_language_of_the_reader():
    words = {NOT_POSITIVE: "%(what)s: %(amount)s", "The tank": "T"}

    with pytest.raises(AmountUnusable) as refusal:
        positive("The tank", 0)

    assert str(refusal.value) == "The tank must be more than zero, not 0."
    assert refusal.value.say(words.get) == "T: 0"

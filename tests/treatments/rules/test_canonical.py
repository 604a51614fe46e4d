"""Canonical JSON against the test data of the standard's author [RFC8785] and another program.

The documents are those of github.com/cyberphone/json-canonicalization, Apache-2.0, as they stand
in tests/reference/integrity_vectors.json.
"""

import json
import struct
from hashlib import sha256
from pathlib import Path

import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from treatments.rules.canonical import (
    NotCanonical,
    canonical,
    cleaned,
    entry_bytes,
    parse,
    plain,
    read_entry_text,
)

FILE = Path(__file__).parents[2] / "reference" / "integrity_vectors.json"
VECTORS = json.loads(FILE.read_text(encoding="utf-8"))
DOCUMENTS = {each["name"]: each for each in VECTORS["rfc8785"]["documents"]}
WITH_FRACTIONS = {"structures", "values"}
WHOLE = [name for name in DOCUMENTS if name not in WITH_FRACTIONS]

keys = st.text(max_size=5)
plainly = st.none() | st.booleans() | st.integers(-(2**53) + 1, 2**53 - 1) | st.text(max_size=8)
values = st.recursive(plainly, lambda v: st.lists(v, max_size=4) | st.dictionaries(keys, v))


@pytest.mark.parametrize("name", WHOLE)
def test_published_documents_give_the_published_bytes(name):
    document = DOCUMENTS[name]

    written = canonical(parse(document["input_text"]))

    assert written.hex() == document["canonical_hex"]
    assert sha256(written).hexdigest() == document["canonical_sha256_computed_here"]


def test_a_document_gives_the_published_bytes_once_its_fraction_is_whole():
    document = DOCUMENTS["structures"]

    written = canonical(parse(document["input_text"].replace("56.0", "56")))

    assert written.hex() == document["canonical_hex"]


@pytest.mark.parametrize("name", sorted(WITH_FRACTIONS))
def test_a_document_with_fractions_is_refused_for_amounts_are_texts(name):
    with pytest.raises(NotCanonical, match="no whole number"):
        parse(DOCUMENTS[name]["input_text"])


NUMBERS = {n["ieee754_hex"]: n["canonical"] for n in VECTORS["rfc8785"]["numbers"]}


@pytest.mark.parametrize("bits", NUMBERS)
def test_published_numbers_are_written_as_published_or_refused(bits):
    value = struct.unpack(">d", bytes.fromhex(bits))[0]
    number = int(value) if value.is_integer() else value

    if number == 0:
        assert canonical(number).decode() == NUMBERS[bits]
    else:  # fractions, and whole numbers of which other readers lose digits
        with pytest.raises(NotCanonical):
            canonical(number)


@pytest.mark.parametrize("number", VECTORS["rfc8785"]["must_refuse"])
def test_what_is_no_number_is_refused(number):
    value = struct.unpack(">d", bytes.fromhex(number["ieee754_hex"]))[0]

    with pytest.raises(NotCanonical):
        canonical({"amount": value})


@given(values)
def test_any_value_gives_the_bytes_that_another_program_gives(value):
    assert canonical(value) == rfc8785.dumps(value)


@given(values)
def test_what_was_written_is_read_back_the_same(value):
    assert parse(canonical(value).decode()) == value


@pytest.mark.parametrize("number", [2**53 - 1, 1 - 2**53])
def test_the_greatest_whole_numbers_are_kept(number):  # [RFC8785], after I-JSON
    assert canonical(number) == str(number).encode()


@pytest.mark.parametrize("number", [2**53, -(2**53)])
def test_a_greater_one_is_refused(number):
    with pytest.raises(NotCanonical, match="as a text"):
        canonical(number)


@pytest.mark.parametrize(("number", "told"), [(2**53 - 1, 2**53 - 1), (2**53, str(2**53))])
def test_a_number_is_told_as_a_text_from_where_others_lose_digits(number, told):  # [RFC8785]
    assert plain(number) == told


@pytest.mark.parametrize(
    "text",
    ['{"a":1,"a":2}', "1.0", "1e3", "NaN", "-Infinity", "[" * 100_000, "{", '"\x01"', '"\t"'],
)
def test_a_text_that_may_be_read_in_two_ways_is_refused(text):
    with pytest.raises(NotCanonical):
        parse(text)


@pytest.mark.parametrize("key", ["Amount", "amount used", "é", "", "_a", "1st", "a\n"])
def test_a_key_that_is_no_plain_word_is_refused_in_an_entry(key):
    with pytest.raises(NotCanonical, match="lower-case word"):
        entry_bytes({"record": [{key: 1}]})


def test_a_key_that_is_no_plain_word_is_refused_where_an_entry_is_read():
    with pytest.raises(NotCanonical, match="lower-case word"):
        read_entry_text('{"record":[{"Amount":1}]}')


@pytest.mark.parametrize("text", ["a\x00", "a\r\n", "\x1f", "A\u030a", "\ud83d"])
def test_an_unclean_text_is_refused_in_an_entry(text):
    with pytest.raises(NotCanonical):
        entry_bytes({"note": text})


@pytest.mark.parametrize("text", ["a\x00", "\x1f", "A\u030a"])
def test_an_unclean_text_is_refused_where_an_entry_is_read(text):
    # [RFC8785] writes it in this form, so only what stands in it is wrong
    with pytest.raises(NotCanonical, match="control characters"):
        read_entry_text(canonical({"note": text}).decode())


@pytest.mark.parametrize("text", ["line\n\tnext", "Å", "😀", "\x7f"])
def test_clean_texts_pass(text):
    assert entry_bytes({"note": text})


@pytest.mark.parametrize("value", [None, True, False, 0, 1])
def test_what_json_has_a_word_for_stays_as_it_is(value):
    # [RFC8785] null, true and false are literals and no numbers
    assert plain({"value": [value]})["value"][0] is value


@given(st.text(st.characters(codec=None)))
def test_every_text_can_be_cleaned_for_an_entry(text):
    clean = cleaned(text)

    assert entry_bytes(clean)
    assert cleaned(clean) == clean


def test_three_entries_give_the_bytes_of_two_other_programs():
    for entry in VECTORS["journal_example"]["entries"]:
        assert entry_bytes(entry["body"]).decode() == entry["body_canonical"]
        assert entry_bytes(entry["envelope"]).decode() == entry["envelope_canonical"]

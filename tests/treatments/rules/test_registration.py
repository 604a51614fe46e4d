"""Registration numbers, formulation codes and signal words, as labels print them."""

import pytest

from treatments.rules.facts import SignalWord
from treatments.rules.registration import (
    FORMULATIONS,
    FormulationUnknown,
    ProductNotRegistered,
    RegistrationNumberMalformed,
    check_registration_number,
    formulation_name,
    parse_registration_number,
    strongest_signal_word,
)
from treatments.rules.table_files import read_toml


def test_a_registration_number_is_company_dash_product():
    # [EPA-LRM-14] "a company number then a dash (-), and then the product number"
    number = parse_registration_number(" 00000-101 ")

    assert (number.company, number.product, number.distributor) == (0, 101, None)


def test_a_distributors_number_stands_third_and_names_the_same_product():
    # [40CFR152-132] a distributor product is the registered product under another name
    sold = parse_registration_number("0-101-7")

    assert sold.distributor == 7
    assert sold.same_product_as(parse_registration_number("0-101"))
    assert not sold.same_product_as(parse_registration_number("0-102"))


@pytest.mark.parametrize("text", ["0-101", "0-101-7"])
def test_a_number_is_written_as_it_was_read(text):
    # [EPA-LRM-14] groups with dashes between them
    assert str(parse_registration_number(text)) == text


def test_the_file_symbol_of_the_manual_is_not_a_registration():
    # [EPA-LRM-14] 6767-EGN is the manual's example of a product not yet registered
    with pytest.raises(ProductNotRegistered, match="not registered"):
        parse_registration_number("6767-EGN")


@pytest.mark.parametrize(
    "text", ["", "101", "0-", "0-1-2-3", "0 - 1", "EPA 0-1", "0-1x", "-1", "٠-١"]
)
def test_what_is_no_registration_number_is_refused(text):
    with pytest.raises(RegistrationNumberMalformed, match="company-product"):
        check_registration_number(text)


def test_a_number_with_a_zero_group_cannot_exist():
    # [EPA-LRM-14] numbers are given out in sequence, the first is one
    assert parse_registration_number("0-101").cannot_exist()
    assert not parse_registration_number("1-1").cannot_exist()


@pytest.mark.parametrize(
    ("code", "name"),
    [
        ("EC", "emulsifiable concentrate"),
        ("SC", "suspension concentrate"),
        ("SL", "soluble concentrate"),
        ("WG", "water dispersible granule"),
        ("WP", "wettable powder"),
        ("EW", "emulsion, oil in water"),
    ],
)
def test_formulation_codes_are_croplifes(code, name):
    # [CROPLIFE-TM2] the code list of the 7th edition
    assert formulation_name(code) == name


def test_formulation_codes_are_two_letters():
    assert all(len(code) == 2 and code.isupper() for code in FORMULATIONS)


def test_an_unknown_formulation_is_refused():
    with pytest.raises(FormulationUnknown, match="QQ"):
        formulation_name("QQ")


def test_signal_words_follow_the_worst_category():
    # [40CFR156-64] I DANGER, II WARNING, III CAUTION, IV none or CAUTION
    words = read_toml("toxicity")["signal_words"]

    assert words["I"] == ["DANGER", "DANGER POISON"]
    assert words["II"] == ["WARNING"]
    assert words["III"] == ["CAUTION"]
    assert words["IV"] == ["", "CAUTION"]


def test_a_sheet_for_several_products_shows_the_strongest_word():
    words = [SignalWord.CAUTION, SignalWord.DANGER, SignalWord.NONE]

    assert strongest_signal_word(words) is SignalWord.DANGER
    assert strongest_signal_word([]) is SignalWord.NONE

"""Codes that follow the clock, against the published examples of the standards."""

from urllib.parse import parse_qs, unquote, urlsplit

import pytest
from pyotp import HOTP, TOTP

from services.rules.one_time_codes import (
    DRIFT,
    SECRET_BYTES,
    STEP_SECONDS,
    address_of,
    code_at,
    in_letters,
    step_of,
)

SECRET = b"12345678901234567890"  # of both standards
# RFC 6238, appendix B, the rows of SHA-1: seconds, and the code of eight digits.
TIMED = [
    (59, "94287082"),
    (1_111_111_109, "07081804"),
    (1_111_111_111, "14050471"),
    (1_234_567_890, "89005924"),
    (2_000_000_000, "69279037"),
    (20_000_000_000, "65353130"),
]
# RFC 4226, appendix D: the codes of six digits by count, from 0.
COUNTED = [
    "755224",
    "287082",
    "359152",
    "969429",
    "338314",
    "254676",
    "287922",
    "162583",
    "399871",
    "520489",
]


@pytest.mark.parametrize(("seconds", "code"), TIMED)
def test_the_library_agrees_with_rfc_6238(seconds, code):
    assert TOTP(in_letters(SECRET), digits=8).at(seconds) == code


@pytest.mark.parametrize(("seconds", "code"), TIMED)
def test_a_code_is_the_last_six_digits_of_rfc_6238(seconds, code):
    # RFC 4226, 5.3: the digits are what is left of the same number by a power of ten
    assert code_at(SECRET, seconds) == code[-6:]


@pytest.mark.parametrize(("count", "code"), list(enumerate(COUNTED)))
def test_a_code_of_a_step_is_that_of_the_count_in_rfc_4226(count, code):
    assert HOTP(in_letters(SECRET)).at(count) == code
    assert code_at(SECRET, count * STEP_SECONDS) == code


def test_the_numbers_are_those_that_the_standards_recommend():
    # RFC 6238, 4.1 and 5.2: steps of 30 seconds, one of drift; RFC 4226, 4 R6: 160 bits
    assert (STEP_SECONDS, DRIFT, SECRET_BYTES * 8) == (30, 1, 160)


@pytest.mark.parametrize(("count", "step"), [(2, None), (3, 3), (4, 4), (5, 5), (6, None)], ids=str)
def test_clocks_may_differ_by_one_step_either_way(count, step):
    now = 4 * STEP_SECONDS + 29

    assert step_of(COUNTED[count], SECRET, seconds=now) == step


@pytest.mark.parametrize(("after", "step"), [(3, 4), (4, None), (5, None)])
def test_a_code_of_a_step_that_was_taken_is_not_taken_again(after, step):
    # RFC 6238, 5.2: a second try of a code is refused
    assert step_of(COUNTED[4], SECRET, seconds=4 * STEP_SECONDS, after=after) == step


@pytest.mark.parametrize("typed", ["", "0", "338315", "33831", "3383144", "nothing", "３３" * 600])
def test_what_is_no_code_of_now_is_of_no_step(typed):
    assert step_of(typed, SECRET, seconds=4 * STEP_SECONDS) is None


def test_a_secret_is_typed_in_base32():
    # RFC 4648, 10: "foobar" is MZXW6YTBOI======
    assert in_letters(b"foobar") == "MZXW6YTBOI"


def test_the_address_for_a_phone_says_whose_codes_they_are():
    address = urlsplit(address_of(SECRET, name="ana", issuer="Fern: Sons & Co"))

    assert (address.scheme, address.netloc) == ("otpauth", "totp")
    assert unquote(address.path) == "/Fern: Sons & Co:ana"
    told = {"secret": [in_letters(SECRET)], "issuer": ["Fern: Sons & Co"]}
    assert parse_qs(address.query) == told

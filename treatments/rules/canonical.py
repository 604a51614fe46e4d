"""Canonical JSON: the same value gives the same bytes, whoever writes it [RFC8785].

Narrower than the standard, by our own choice: no fractions at all, since amounts and times are
texts; and what an entry of the journal holds has plain keys and clean text.
"""

import json
import re
import unicodedata
from datetime import UTC, date, datetime
from decimal import Decimal
from functools import lru_cache
from typing import Any
from uuid import UUID

GREATEST = 2**53 - 1  # beyond it other readers of JSON lose digits [RFC8785]
KEY = re.compile(r"[a-z][a-z0-9_]*")
CONTROL = re.compile(r"[\x00-\x08\x0b-\x1f]")  # all but tab and newline
NO_TEXT = re.compile(r"[\x00-\x08\x0b-\x1f\ud800-\udfff]")
STANDS_FOR_IT = "\ufffd"


class NotCanonical(ValueError):
    """A value has no canonical form, or a text is not in it."""


def canonical(value: object) -> bytes:
    """Return the canonical bytes of a value [RFC8785]; raise NotCanonical for a fraction.

    >>> canonical({"b": [1, None], "a": "é"}).decode()
    '{"a":"é","b":[1,null]}'
    """
    text = json.dumps(_ordered(value), ensure_ascii=False, separators=(",", ":"))
    try:
        return text.encode()
    except UnicodeEncodeError as error:
        raise NotCanonical("Half a surrogate pair is no text.") from error


def entry_bytes(value: object) -> bytes:
    """Return the canonical bytes of what an entry holds; raise NotCanonical where it is unclean.

    Keys are lower-case ASCII words, texts are in Unicode's form NFC without control characters.

    >>> entry_bytes({"amount": "0.75"})
    b'{"amount":"0.75"}'
    >>> entry_bytes({"Amount": 1})
    Traceback (most recent call last):
    treatments.rules.canonical.NotCanonical: A key is a lower-case word, not 'Amount'.
    """
    _refuse_strange(value)
    text = WRITER.encode(value)
    # What is plain ASCII without an escape holds nothing that is unclean.
    if not text.isascii() or "\\" in text:
        _refuse_unclean(value)
    try:
        return text.encode()
    except UnicodeEncodeError as error:
        raise NotCanonical("Half a surrogate pair is no text.") from error


def parse(text: str) -> Any:
    """Return the value of a JSON text; raise NotCanonical for a double key or a fraction.

    >>> parse('{"a":1,"a":2}')
    Traceback (most recent call last):
    treatments.rules.canonical.NotCanonical: The key 'a' stands twice.
    """
    try:
        return json.loads(
            text, object_pairs_hook=_pairs, parse_float=_no_fraction, parse_constant=_no_fraction
        )
    except (ValueError, RecursionError) as error:
        raise error if isinstance(error, NotCanonical) else NotCanonical(str(error)) from error


def read_entry_text(text: str) -> Any:
    """Return the value of a text that is canonical as entries are; raise NotCanonical for others.

    It says the same as `parse` and `entry_bytes` together, several times faster: what is written
    again in order and gives the very same text holds no key twice.

    >>> read_entry_text('{"a":1,"a":1}')
    Traceback (most recent call last):
    treatments.rules.canonical.NotCanonical: The text is not in canonical form.
    """
    try:
        value = READER.decode(text)
        again = WRITER.encode(value)
        text.encode()
    except (ValueError, RecursionError) as error:
        raise error if isinstance(error, NotCanonical) else NotCanonical(str(error)) from error
    if again != text:
        raise NotCanonical("The text is not in canonical form.")
    _refuse_strange_keys(value)
    if not text.isascii() or "\\" in text:
        _refuse_unclean(value)
    return value


def cleaned(text: str) -> str:
    """Return a text as an entry holds it: one kind of line end, form NFC, no control characters.

    >>> cleaned("one\\r\\ntwo")
    'one\\ntwo'
    """
    if text.isascii() and text.isprintable():
        return text
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return unicodedata.normalize("NFC", NO_TEXT.sub(STANDS_FOR_IT, lines))


def plain(value: object) -> object:
    """Return a value in the words of an entry: amounts, days and moments become texts.

    A moment is told in UTC; an object whose keys are no plain words becomes a list of pairs.

    >>> plain({"done_at": datetime(2026, 5, 4, 14, 40, tzinfo=UTC), "amount": Decimal("0.750")})
    {'done_at': '2026-05-04T14:40:00Z', 'amount': '0.750'}
    """
    if isinstance(value, dict):
        if all(KEY.fullmatch(str(key)) for key in value):
            return {str(key): plain(each) for key, each in value.items()}
        return [[cleaned(str(key)), plain(each)] for key, each in value.items()]
    if isinstance(value, list | tuple):
        return [plain(each) for each in value]
    if value is None or isinstance(value, bool):
        return value
    if isinstance(value, int) and abs(value) <= GREATEST:
        return int(value)
    return cleaned(_told(value))


def _told(value: object) -> str:
    if isinstance(value, Decimal):
        return f"{value:f}"
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat().replace("+00:00", "Z")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return repr(value)
    if isinstance(value, int | str | UUID):
        return str(value)
    raise NotCanonical(f"An entry cannot hold {value!r}.")


def _ordered(value: object) -> object:
    """Return a value with its keys in the order of their UTF-16 units [RFC8785]."""
    if value is None or isinstance(value, bool | str):
        return value
    if isinstance(value, int):
        return _bounded(value)
    if isinstance(value, list | tuple):
        return [_ordered(each) for each in value]
    if isinstance(value, dict):
        if not all(isinstance(key, str) for key in value):
            raise NotCanonical("A key is a text.")
        # Of ASCII keys the order by code points is the same, and faster.
        units = None if all(map(str.isascii, value)) else _utf16
        keys = sorted(value, key=units)
        return {key: _ordered(value[key]) for key in keys}
    raise NotCanonical(f"{value!r} is neither text, whole number, list nor object.")


def _utf16(key: str) -> bytes:
    return key.encode("utf-16-be", "surrogatepass")


def _bounded(number: int) -> int:
    if abs(number) > GREATEST:
        raise NotCanonical(f"{number} is beyond 2^53 - 1; write it as a text.")
    return number


def _refuse_strange(value: object) -> None:
    """Refuse keys that are no words, and values of other kinds than an entry holds."""
    if value is None or isinstance(value, str | bool):
        return
    if isinstance(value, dict):
        for key, each in value.items():
            if not isinstance(key, str) or not _is_word(key):
                raise NotCanonical(f"A key is a lower-case word, not {key!r}.")
            if each.__class__ is not str:
                _refuse_strange(each)
    elif isinstance(value, list | tuple):
        for each in value:
            _refuse_strange(each)
    elif isinstance(value, int):
        _bounded(value)
    else:
        raise NotCanonical(f"{value!r} is neither text, whole number, list nor object.")


def _refuse_strange_keys(value: object) -> None:
    if isinstance(value, dict):
        for key, each in value.items():
            if not _is_word(key):
                raise NotCanonical(f"A key is a lower-case word, not {key!r}.")
            if each.__class__ is not str:
                _refuse_strange_keys(each)
    elif isinstance(value, list):
        for each in value:
            _refuse_strange_keys(each)


@lru_cache(maxsize=10_000)
def _is_word(key: str) -> bool:
    return KEY.fullmatch(key) is not None


def _refuse_unclean(value: object) -> None:
    if isinstance(value, str):
        if CONTROL.search(value) or not unicodedata.is_normalized("NFC", value):
            raise NotCanonical(f"{value!r} holds control characters or is not in form NFC.")
    elif isinstance(value, list | tuple):
        for each in value:
            _refuse_unclean(each)
    elif isinstance(value, dict):
        for key, each in value.items():
            if not KEY.fullmatch(str(key)):
                raise NotCanonical(f"A key is a lower-case word, not {key!r}.")
            _refuse_unclean(each)


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for key, value in pairs:
        if key in found:
            raise NotCanonical(f"The key {key!r} stands twice.")
        found[key] = value
    return found


def _no_fraction(text: str) -> None:
    raise NotCanonical(f"{text} is no whole number; write it as a text.")


def _whole(text: str) -> int:
    return _bounded(int(text))


READER = json.JSONDecoder(
    parse_float=_no_fraction, parse_int=_whole, parse_constant=_no_fraction, strict=True
)
WRITER = json.JSONEncoder(
    ensure_ascii=False, sort_keys=True, separators=(",", ":"), check_circular=False
)

"""The words of a text as they are looked for: without accents, in small letters."""

import re
import unicodedata
from collections.abc import Sequence

MOST_WORDS = 8
LONGEST = 40  # signs of a word that are compared
MARK = "\ue000"  # begins a mark, which no typed word can: private use, and dropped below


def words_of(text: str) -> list[str]:
    """Return the words of what somebody looks for, each once, at most eight.

    >>> words_of("Peña & Sons, Lot #12-B")
    ['pena', 'sons', 'lot', '12', 'b']
    """
    found = _all_words(text[:400])
    return list(dict.fromkeys(word[:LONGEST] for word in found))[:MOST_WORDS]


def has_beginnings(text: str, words: Sequence[str]) -> bool:
    """Say whether each of some words begins a word of a text; one of a single sign is one whole.

    >>> has_beginnings("Peña & Sons", ["pen", "s"]), has_beginnings("Peña & Sons", ["pen", "so"])
    (False, True)
    """
    found = set(_all_words(text))
    return all(
        word in found or (len(word) > 1 and any(each.startswith(word) for each in found))
        for word in words
    )


def _all_words(text: str) -> list[str]:
    bare = "".join(
        sign
        for sign in unicodedata.normalize("NFKD", text)
        if not unicodedata.combining(sign) and unicodedata.category(sign) != "Co"
    )
    return re.findall(r"[^\W_]+", bare.lower())


def match_of_sqlite(words: Sequence[str], marks: Sequence[Sequence[str]]) -> str:
    """Return words and marks as FTS5 is asked: all words as beginnings, one mark of each row.

    >>> match_of_sqlite(["pena", "b"], [["p1", "p2"]]).replace(MARK, "#")
    '"pena"* AND "b" AND ("#p1" OR "#p2")'
    """
    terms = [f'"{word}"*' if len(word) > 1 else f'"{word}"' for word in words]
    either = ["(" + " OR ".join(f'"{MARK}{mark}"' for mark in row) + ")" for row in marks]
    return " AND ".join([*terms, *either])


def match_of_postgresql(words: Sequence[str], marks: Sequence[Sequence[str]]) -> str:
    """Return the same as the text of a tsquery.

    >>> match_of_postgresql(["pena", "b"], [["p1", "p2"]]).replace(MARK, "#")
    "'pena':* & 'b' & ('#p1' | '#p2')"
    """
    terms = [f"'{word}':*" if len(word) > 1 else f"'{word}'" for word in words]
    either = ["(" + " | ".join(f"'{MARK}{mark}'" for mark in row) + ")" for row in marks]
    return " & ".join([*terms, *either])

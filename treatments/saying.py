"""Facts and flags in the words and forms of the language that is spoken now."""

import re
from datetime import date, datetime
from typing import Any

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from treatments.naming import in_words
from treatments.rules.table_words import CITATIONS

# A day as kept facts write it, with its hour where one follows.
ISO_DAY = re.compile(r"(?<![\w-])(\d{4}-[01]\d-[0-3]\d)( [0-2]\d:[0-5]\d)?(?![\w:-])")


def told(fact: object) -> object:
    """Return a date or a moment as the reader's language writes it, an amount without zeros.

    So is a day that stands in a text as ISO 8601 writes it: facts that are kept hold such.
    """
    if isinstance(fact, datetime):
        return date_format(fact, "SHORT_DATETIME_FORMAT")
    if isinstance(fact, date):
        return date_format(fact, "SHORT_DATE_FORMAT")
    own = in_words(fact)
    if not isinstance(own, str):
        return own
    read = ISO_DAY.sub(_day_told, cited(own))
    return own if read == own else read  # what is marked stays marked


def cited(text: str) -> str:
    """Return where a rule stands, the words beside its numbers in the language spoken now."""
    for citation in CITATIONS:
        if citation in text:
            text = text.replace(citation, _(citation))
    return text


def _day_told(found: re.Match[str]) -> str:
    if found[2]:
        return date_format(datetime.fromisoformat(found[0]), "SHORT_DATETIME_FORMAT")
    return date_format(date.fromisoformat(found[1]), "SHORT_DATE_FORMAT")


def say_flag(flag: dict[str, Any]) -> str:
    """Return the sentence of a flag that was kept on a record."""
    facts = {
        name: told(_(fact)) if isinstance(fact, str) and fact else fact
        for name, fact in flag.get("facts", {}).items()
    }
    return _(flag["sentence"]) % facts

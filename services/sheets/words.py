"""The words of the sheets in the reader's language, from the same catalogue as the pages."""

import gettext
from collections.abc import Callable
from functools import cache
from pathlib import Path

CATALOGUE = Path(__file__).resolve().parents[1] / "project" / "locale"


@cache
def _catalogue(language: str) -> gettext.NullTranslations:
    return gettext.translation("django", CATALOGUE, languages=[language], fallback=True)


def words_in(language: str) -> Callable[[str], str]:
    """Return the function that says an English text in a language, or leaves it English.

    >>> _ = words_in("en")
    >>> _("Wind")
    'Wind'
    """
    translate = _catalogue(language).gettext
    # The catalogue keeps its own head under the empty text.
    return lambda text: translate(text) if text else ""


def counts_in(language: str) -> Callable[[str, str, int], str]:
    """Return the function that picks the singular or plural of a text in a language.

    >>> ngettext = counts_in("en")
    >>> ngettext("%(count)s tank", "%(count)s tanks", 2) % {"count": 2}
    '2 tanks'
    """
    return _catalogue(language).ngettext

"""What a stop needs of a crew, in the words of the reader; plans name it by short names."""

import re

from django.conf import settings
from django.utils import translation
from django.utils.translation import gettext as _

from treatments.rules.findings import Named

# As `dispatching.crews` names sprayers and the crew that has begun a stop.
SPRAYER = re.compile(
    r"(?P<calibrated>calibrated )?sprayer(?P<stirs> with agitation)? to (?P<feet>\d+) ft"
    r"(?: under (?P<category>[^@,]+)@(?P<place>[A-Z]{2}-[A-Z0-9]{1,3}))?"
)
CREW = re.compile(r"\bcrew \d+\b")


def in_each_language(needs: str) -> Named:
    """Return what a plan says that a stop needs, in all languages of the book."""
    others = {}
    for language, _name in settings.LANGUAGES:
        with translation.override(language):
            others[language] = needs_in_words(needs)
    return Named(needs, others)


def needs_in_words(needs: str) -> str:
    """Return needs in the language that is spoken now; what is not a sprayer stays as it is.

    >>> needs_in_words("3a (US-PA), calibrated sprayer with agitation to 12 ft")
    '3a (US-PA), calibrated sprayer with agitation that reaches 12 ft'
    """
    return CREW.sub(lambda _found: _("the crew that has begun it"), SPRAYER.sub(_sprayer, needs))


def _sprayer(found: re.Match[str]) -> str:
    words = {
        (False, False): _("sprayer that reaches %(feet)s ft"),
        (False, True): _("sprayer with agitation that reaches %(feet)s ft"),
        (True, False): _("calibrated sprayer that reaches %(feet)s ft"),
        (True, True): _("calibrated sprayer with agitation that reaches %(feet)s ft"),
    }
    sprayer = words[bool(found["calibrated"]), bool(found["stirs"])] % {"feet": found["feet"]}
    if found["category"] is None:
        return sprayer
    allowed = _("%(sprayer)s and that the certificate for %(category)s (%(place)s) allows")
    return allowed % {"sprayer": sprayer, "category": found["category"], "place": found["place"]}

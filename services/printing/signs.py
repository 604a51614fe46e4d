"""The sign that stays behind, in words: what the rule of the place asks of it."""

from django.utils.translation import gettext as _

from services.sheets.dates import number
from treatments.rules.records import Posting, ruleset_of


def posting_in_words(jurisdiction: str, posting: Posting | None) -> str:
    """Return what is to be posted; where no rule was found, that is said."""
    if posting is None:
        known = ruleset_of(jurisdiction)
        name = known.name if known else jurisdiction
        return _("No rule for a sign was found for %(place)s.") % {"place": name}
    parts = [_sign(posting)]
    if posting.when:
        parts.append(_("Put up: %(when)s.") % {"when": posting.when})
    if posting.placement:
        parts.append(_("Where: %(where)s.") % {"where": posting.placement})
    if posting.mount:
        parts.append(_("How: %(how)s.") % {"how": posting.mount})
    if posting.keep_up_rule and posting.keep_up_hours is None:
        parts.append(_("Stays: %(rule)s.") % {"rule": posting.keep_up_rule})
    return " ".join(parts)


def _sign(posting: Posting) -> str:
    words = "; ".join(posting.contents) or posting.citation
    return _("Sign (%(citation)s): %(words)s.") % {"citation": posting.citation, "words": words}


def sign_name(posting: Posting) -> str:
    """Return how a crew picks the right sign in the yard: place, size and colors."""
    parts = [posting.jurisdiction]
    if posting.width_in and posting.height_in:
        size = {"width": number(posting.width_in), "height": number(posting.height_in)}
        parts.append(_("%(width)s × %(height)s in") % size)
    colors = " / ".join(part for part in (posting.background, posting.lettering) if part)
    return ", ".join([*parts, colors] if colors else parts)

"""The sign that stays on a treated property: whether one is asked for, how it looks, how long."""

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from functools import cache
from typing import Any

from treatments.rules.records.rulesets import RuleSet, ruleset_of

SIGN_KEYS = (
    "required_when",
    "applies_to_plants",
    "sign_min_width_in",
    "sign_min_height_in",
    "size_is_exact",
    "letter_min_in",
    "background",
    "lettering",
    "contents",
    "extra_front_text_allowed",
    "placement",
    "mount",
    "post_before_or_at",
    "keep_up_hours",
    "keep_up_rule",
    "remover",
)


@dataclass(frozen=True, slots=True)
class Posting:
    """A state's sign.  None is not known, never "not asked"; sizes in inches, width by height."""

    jurisdiction: str
    citation: str
    source: str
    mark: str
    required_when: str
    applies_to: str | None
    width_in: Decimal | None
    height_in: Decimal | None
    size_is_exact: bool
    letter_min_in: Decimal | None
    background: str | None
    lettering: str | None
    contents: tuple[str, ...]
    extra_text: str | None
    placement: str | None
    mount: str | None
    when: str | None
    keep_up_hours: int | None
    keep_up_rule: str | None
    remover: str | None


@cache
def posting_for(jurisdiction: str, *, production_site: bool = False) -> Posting | None:
    """Return the sign that a place asks for, or None where none was found.

    jurisdiction: "US-NJ" or "NJ"
    production_site: a nursery, greenhouse or farm, which has the federal sign [40CFR170]

    >>> posting_for("US-NJ").keep_up_hours, posting_for("US-PA")
    (72, None)
    """
    ruleset = ruleset_of("US-WPS") if production_site else ruleset_of(jurisdiction)
    return posting_of(ruleset) if ruleset else None


def posting_of(ruleset: RuleSet) -> Posting | None:
    """Return the sign that a rule set asks for, or None where it says nothing of one.

    What an own rule set does not hold, such as size and colors, is not known.
    """
    told = ruleset.row["posting"]
    return None if told is None else _posting(ruleset, dict.fromkeys(SIGN_KEYS) | told)


def known_with_own(known: Posting | None, own: Posting | None) -> Posting | None:
    """Return the book's sign with what an own rule set adds; it never stays for less.

    What the book's table says comes first, and an own rule fills what it does not know.
    """
    if known is None or own is None:
        return known or own
    hours = [each for each in (known.keep_up_hours, own.keep_up_hours) if each is not None]
    return replace(
        known,
        when=known.when or own.when,
        keep_up_hours=max(hours, default=None),
        remover=known.remover or own.remover,
    )


def _posting(ruleset: RuleSet, sign: dict[str, Any]) -> Posting:
    return Posting(
        jurisdiction=ruleset.code,
        citation=ruleset.citation,
        source=ruleset.row["posting_source"],
        mark=ruleset.mark_of("posting"),
        required_when=sign["required_when"] or "",
        applies_to=sign["applies_to_plants"],
        width_in=_inches(sign["sign_min_width_in"]),
        height_in=_inches(sign["sign_min_height_in"]),
        size_is_exact=bool(sign["size_is_exact"]),
        letter_min_in=_inches(sign["letter_min_in"]),
        background=sign["background"],
        lettering=sign["lettering"],
        contents=tuple(sign["contents"] or ()),
        extra_text=sign["extra_front_text_allowed"],
        placement=sign["placement"],
        mount=sign["mount"],
        when=sign["post_before_or_at"],
        keep_up_hours=sign["keep_up_hours"],
        keep_up_rule=sign["keep_up_rule"],
        remover=sign["remover"],
    )


def _inches(figure: float | None) -> Decimal | None:
    return None if figure is None else Decimal(str(figure))


def sign_stays_until(
    posting: Posting | None, finished_at: datetime, reentry_until: datetime | None = None
) -> datetime | None:
    """Return until when a sign stays: its hours, and never less than the re-entry interval.

    finished_at: the end of the application, with its time zone
    reentry_until: when people may come back, by the label

    None where neither is known: then the wording of `keep_up_rule` decides.  Washington names
    the longer of its hours and the interval [WA-17-21]; elsewhere that is common practice.
    """
    ends = [end for end in (_hours_end(posting, finished_at), reentry_until) if end is not None]
    return max(ends, default=None)


def _hours_end(posting: Posting | None, finished_at: datetime) -> datetime | None:
    if posting is None or posting.keep_up_hours is None:
        return None
    end = finished_at.astimezone(UTC) + timedelta(hours=posting.keep_up_hours)
    return end.astimezone(finished_at.tzinfo)

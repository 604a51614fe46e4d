"""How long people and pets keep out: never less than the label, and the longer of a mixture.

A tank mix takes the longer interval of its products; hours are elapsed hours, so that a change
of the clock neither shortens nor lengthens them.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from decimal import Decimal

from treatments.rules.facts import ProductFacts, SignalWord
from treatments.rules.findings import Counted, Finding, Severity, gettext_noop
from treatments.rules.table_files import read_toml

KEEP_OUT = Counted(
    gettext_noop(
        "Keep people and pets out for %(hours)s hours, until %(until)s, as %(product)s asks."
    ),
    gettext_noop(
        "Keep people and pets out for %(hours)s hour, until %(until)s, as %(product)s asks."
    ),
    "hours",
)
KEEP_OUT_DRY = Counted(
    gettext_noop(
        "Keep people and pets out for %(hours)s hours, until %(until)s, as %(product)s asks, and "
        "in any case until the spray has dried."
    ),
    gettext_noop(
        "Keep people and pets out for %(hours)s hour, until %(until)s, as %(product)s asks, and in "
        "any case until the spray has dried."
    ),
    "hours",
)
UNTIL_DRY = gettext_noop("Keep people and pets out until the spray of %(product)s has dried.")
SILENT = gettext_noop("The label copy of %(product)s names no re-entry time.")
READ_LABEL = gettext_noop("Read the label before anyone is let in again.")
IMPLAUSIBLE = gettext_noop(
    "%(product)s says %(word)s, and its label copy lets people in after %(hours)s hours; "
    "%(usual)s hours are usual where skin or eyes are the reason."
)
COMPARE = gettext_noop("Compare the copy with the label; the label decides.")


@dataclass(frozen=True, slots=True)
class Reentry:
    """When people may come back: after `until`, and not before the spray is dry if it says so."""

    until: datetime | None
    hours: Decimal | None
    until_dry: bool
    decisive: str  # the product that asks for most
    silent: tuple[str, ...]  # products whose label copy says nothing


def reentry_after(products: Sequence[ProductFacts], finished_at: datetime) -> Reentry:
    """Return when people may come back after products that were applied together.

    products: what was in the tank, or on the planting that day
    finished_at: the end of the application, with its time zone

    Raise ValueError for a time without a zone.
    """
    if finished_at.tzinfo is None:
        raise ValueError("The end of the application needs a time zone.")
    timed = [product for product in products if product.reentry_hours is not None]
    longest = max(timed, key=lambda product: product.reentry_hours or 0, default=None)
    drying = [product for product in products if product.reentry_until_dry]
    hours = longest.reentry_hours if longest else None
    decisive = longest or next(iter(drying), None)
    return Reentry(
        until=None if hours is None else _elapsed(finished_at, hours),
        hours=hours,
        until_dry=bool(drying),
        decisive=decisive.name if decisive else "",
        silent=tuple(each.name for each in products if each not in timed and each not in drying),
    )


def _elapsed(start: datetime, hours: Decimal) -> datetime:
    end = start.astimezone(UTC) + timedelta(seconds=float(hours * 3600))
    return end.astimezone(start.tzinfo)


def check_reentry(products: Sequence[ProductFacts], finished_at: datetime) -> list[Finding]:
    """Return the note that tells people until when to keep out, and a warning for silence."""
    reentry = reentry_after(products, finished_at)
    facts = {
        "product": reentry.decisive,
        "hours": reentry.hours,
        "until": reentry.until,
    }
    findings = [
        Finding("reentry-unnamed", Severity.WARNING, SILENT, READ_LABEL, {"product": name})
        for name in reentry.silent
    ]
    if sentence := _keep_out(reentry):
        findings.append(Finding("reentry", Severity.NOTE, sentence, "", facts))
    return findings


def _keep_out(reentry: Reentry) -> str:
    if reentry.hours is None:
        return UNTIL_DRY if reentry.until_dry else ""
    return KEEP_OUT_DRY if reentry.until_dry else KEEP_OUT


def default_reentry_hours(category: str, *, dry_region_organophosphate: bool = False) -> int:
    """Return the hours that an active ingredient's toxicity category gives [40CFR156-208].

    category: "I" to "IV", the worst of dermal, eye and skin
    dry_region_organophosphate: an organophosphate outdoors where it rains under 25 in a year

    The label's own interval always holds instead.

    >>> default_reentry_hours("I"), default_reentry_hours("II"), default_reentry_hours("III")
    (48, 24, 12)
    """
    table = read_toml("toxicity")["reentry"]
    if dry_region_organophosphate:
        return table["dry_region_organophosphate_hours"]
    return table["hours"][category]


def check_reentry_plausible(product: ProductFacts) -> list[Finding]:
    """Return a note where the signal word and a short re-entry interval look odd together.

    The word follows the worst route of the product [40CFR156-64], the interval the skin and eye
    category of its ingredients [40CFR156-208], so that they may differ: it is never more than a
    note.
    """
    categories = {
        SignalWord.DANGER_POISON: "I",
        SignalWord.DANGER: "I",
        SignalWord.WARNING: "II",
    }
    category = categories.get(product.signal_word)
    if category is None or product.reentry_hours is None:
        return []
    usual = default_reentry_hours(category)
    if product.reentry_hours >= usual:
        return []
    facts = {
        "product": product.name,
        "word": product.signal_word.value,
        "hours": product.reentry_hours,
        "usual": usual,
    }
    return [Finding("reentry-odd", Severity.NOTE, IMPLAUSIBLE, COMPARE, facts, "40CFR156-208")]

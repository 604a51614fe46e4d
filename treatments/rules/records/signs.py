"""How the sign of a jurisdiction is made up, so that it can be printed true to size.

Size, colors and words are those of the rule, each with its citation in tables/rulesets.json.
What was not read in the code itself is named, and nothing is printed from it before the owner
has compared it with the code.  Michigan's sign is 5 by 4 inches, no more and no less, with
CAUTION in 72 points [MI-285-637].

Of the sign for workers there are smaller ones, for nurseries and greenhouses at any time, for farms
and forests where the area is too small for the large one; they stand closer [WAC-296-307-120].
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from hashlib import sha256
from typing import Any

from treatments.rules.findings import gettext_noop
from treatments.rules.records.posting import Posting
from treatments.rules.table_files import read_toml

UNSURE = {
    "memory": gettext_noop("The rule for this sign was not read; it is told from memory."),
    "reproduction": gettext_noop(
        "The rule for this sign was read in a sign maker's copy, not in the code."
    ),
    "counterpart": gettext_noop(
        "The figures of this smaller sign were read in a state's rule for the same sign."
    ),
    "free size": gettext_noop(
        "The rule names letters and circle of the smaller signs, and no outer size; this size is "
        "our own."
    ),
    "size": gettext_noop("How large the rule wants the sign was not read; this size is our own."),
    "letters": gettext_noop(
        "How large the rule wants some of the letters was not read; this size is our own."
    ),
    "colors": gettext_noop("Which colors the rule wants was not read; these are our own."),
    "symbol": gettext_noop("The symbol of this sign is not in the book and cannot be drawn."),
    "wording": gettext_noop("The agency's own words are not in the book and cannot be printed."),
}
MEASURES = frozenset({"points", "letters_in", "circle_in", "drawing_in"})
CAPITAL = Decimal("0.654")  # height of the capitals of the sans semibold, of the size of the type
NEVER_PRINTED = frozenset({"symbol", "wording"})


@dataclass(frozen=True, slots=True)
class SignWords:
    """Words on a sign: the size of their type in points, or the least height of a letter."""

    words: str  # with places such as %(business)s
    points: Decimal | None = None
    letters_in: Decimal | None = None
    capitals: bool = False


@dataclass(frozen=True, slots=True)
class SignCircle:
    """A circle with figures; its outer width in inches.

    figure: "walkers" for adult, child and dog, crossed out; "hand" for a raised hand and a stern
    face on red
    """

    circle_in: Decimal
    leash: bool = False
    lawn: bool = False
    figure: str = field(default="walkers", repr=False)  # the rule's fingerprint was kept without


@dataclass(frozen=True, slots=True)
class SignDrawing:
    """The symbol as the owner took it from the code; its width in inches."""

    drawing_in: Decimal


@dataclass(frozen=True, slots=True)
class OwnSource:
    """Who took a sign from the code, on which day, and where it stands there."""

    who: str
    day: date
    citation: str


@dataclass(frozen=True, slots=True)
class SignDesign:
    """A sign from top to bottom, width by height in inches."""

    posting: Posting
    width_in: Decimal
    height_in: Decimal
    parts: tuple[SignWords | SignCircle | SignDrawing, ...]
    both_sides: bool
    unsure: tuple[str, ...]  # keys of UNSURE
    back: tuple[SignWords | SignCircle | SignDrawing, ...] = field(default=(), repr=False)
    own: OwnSource | None = field(default=None, repr=False)  # the owner's, not of the table
    drawing: bytes = field(default=b"", repr=False)  # a PNG

    def can_be_printed(self) -> bool:
        """Say whether the book holds all that stands on the sign."""
        return bool(self.parts) and NEVER_PRINTED.isdisjoint(self.unsure)

    def wants_confirming(self) -> bool:
        """Say whether somebody must compare it with the code before it is printed."""
        return bool(self.unsure)

    def fingerprint(self) -> str:
        """Return what changes when anything of the sign or its rule changes."""
        return sha256(repr(self).encode()).hexdigest()


def spacings_of(posting: Posting) -> tuple[int, ...]:
    """Return how many feet apart the smaller signs of a rule stand, none where it has none.

    >>> from treatments.rules.records.posting import posting_for
    >>> spacings_of(posting_for("US-WPS")), spacings_of(posting_for("US-MI"))
    ((50, 25), ())
    """
    row = read_toml("signs").get(posting.jurisdiction, {})
    return tuple(each["apart_ft"] for each in row.get("smaller", []))


def design_of(posting: Posting, apart_ft: int | None = None) -> SignDesign:
    """Return how a sign is made up; one without parts is not in the book.

    apart_ft: of `spacings_of`, for the smaller sign that stands no farther apart than this

    >>> from treatments.rules.records.posting import posting_for
    >>> design = design_of(posting_for("US-MI"))
    >>> design.width_in, design.height_in, design.wants_confirming()
    (Decimal('5'), Decimal('4'), False)
    """
    row = read_toml("signs").get(posting.jurisdiction, {"unsure": ["wording"]})
    if apart_ft is not None:
        row = next(each for each in row["smaller"] if each["apart_ft"] == apart_ft)
        posting = _smaller(posting, row)
    unsure = list(row.get("unsure", []))
    if posting.mark != "read" and "memory" not in unsure:
        unsure.append("memory")
    return SignDesign(
        posting=posting,
        width_in=_inches(row.get("width_in", posting.width_in)),
        height_in=_inches(row.get("height_in", posting.height_in)),
        parts=tuple(_part(part) for part in row.get("parts", [])),
        both_sides=row.get("both_sides", False),
        unsure=tuple(unsure),
    )


def _smaller(posting: Posting, row: Mapping[str, Any]) -> Posting:
    """Return what the rule asks of a smaller sign, which has no outer size."""
    return replace(
        posting,
        width_in=None,
        height_in=None,
        letter_min_in=_inches(row["letter_min_in"]),
        placement=row["placement"],
    )


def own_design(
    known: SignDesign, told: Mapping[str, Any], source: OwnSource, drawing: bytes = b""
) -> SignDesign:
    """Return the sign that the owner took from the code, in place of what the table has.

    told: width_in, height_in, background, lettering, parts and back, as the table has them
    """
    colors = {name: told[name] for name in ("background", "lettering")}
    return SignDesign(
        posting=replace(known.posting, **colors),
        width_in=_inches(told["width_in"]),
        height_in=_inches(told["height_in"]),
        parts=tuple(_part(part) for part in told["parts"]),
        both_sides=False,
        unsure=(),
        back=tuple(_part(part) for part in told["back"]),
        own=source,
        drawing=drawing,
    )


def less_than_asked(posting: Posting, told: Mapping[str, Any]) -> list[str]:
    """Return in which ways an own sign is less than the rule asks, as far as the book knows it.

    Of type in points the letters that are all capitals stand for the least height.
    """
    wide, high = _inches(told["width_in"]), _inches(told["height_in"])
    found = []
    asked = ((wide, posting.width_in), (high, posting.height_in))
    if any(least is not None and size < least for size, least in asked):
        found.append("small")
    elif posting.size_is_exact and any(size != least for size, least in asked):
        found.append("not exact")
    least = posting.letter_min_in
    if least is not None and any(_letters(part) < least for part in told["parts"]):
        found.append("letters")
    return found


def _letters(part: Mapping[str, Any]) -> Decimal:
    """Return the height of the letters of a part in inches; of a figure more than any rule asks."""
    if "words" not in part:
        return Decimal(100)
    if "letters_in" in part:
        return _inches(part["letters_in"])
    return _inches(part["points"]) * CAPITAL / 72


def _inches(figure: float | Decimal | None) -> Decimal:
    return Decimal(str(figure or 0))


def _part(row: Mapping[str, Any]) -> SignWords | SignCircle | SignDrawing:
    figures: dict[str, Any] = {
        name: Decimal(str(value)) if name in MEASURES else value for name, value in row.items()
    }
    if "drawing_in" in row:
        return SignDrawing(**figures)
    return SignCircle(**figures) if "circle_in" in row else SignWords(**figures)

"""What people typed, made fit to print: one door that every text goes through."""

import unicodedata
from functools import lru_cache
from html import escape

from reportlab.pdfbase.pdfmetrics import stringWidth

from services.sheets.typefaces import BOX, COVERED

NAME = 200
NOTE = 4000
LINES = 40

DIRECTION_MARKS = frozenset(
    "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"
)


@lru_cache(maxsize=4_096)
def _shown(sign: str) -> str:
    """Return a sign, a visible mark for a hidden one, or nothing for a control character."""
    if sign in DIRECTION_MARKS:
        return f"[U+{ord(sign):04X}]"
    if sign == "\n":
        return sign
    if sign in "\t\u2028\u2029":
        return " "
    category = unicodedata.category(sign)
    if category == "Cc":
        return ""
    return BOX if category in {"Cs", "Cn", "Co", "Cf"} else sign


def cleaned(text: object, limit: int = NOTE) -> str:
    r"""Return a text without control characters, direction marks made visible, cut at a limit.

    >>> cleaned("Ro\x00se\u202e bed")
    'Rose[U+202E] bed'
    """
    given = str(text).replace("\r\n", "\n").replace("\r", "\n")
    kept = given if len(given) <= limit else given[: limit - 1] + "…"
    if kept.isascii() and kept.isprintable():  # most are, and nothing of them changes
        return kept
    return "".join(_shown(sign) for sign in unicodedata.normalize("NFC", kept))


def printable(text: object, limit: int = NOTE) -> str:
    """Return the cleaned text with a box in place of each sign that our typefaces lack.

    >>> printable("Bed \U0001f339")
    'Bed \ufffd'
    """
    shown = cleaned(text, limit)
    if COVERED.issuperset(map(ord, shown)):
        return shown
    return "".join(sign if sign == "\n" or ord(sign) in COVERED else BOX for sign in shown)


def txt(text: object, limit: int = NOTE) -> str:
    """Return a text as paragraph markup in which nothing of it acts as markup.

    >>> txt("Smith & <b>Sons")
    'Smith &amp; &lt;b&gt;Sons'
    """
    lines = escape(printable(text, limit).strip("\n"), quote=False).split("\n")
    # A text of nothing but line ends would fill pages: what follows the last line runs on.
    if len(lines) > LINES:
        lines = [*lines[: LINES - 1], " ".join(lines[LINES - 1 :])]
    return "<br/>".join(lines)


def fitted(text: object, face: str, size: float, width: float) -> str:
    """Return as much of a text on one line as a width in points holds, cut with an ellipsis.

    >>> fitted("Rose bed", "Source Sans 3", 10, 200)
    'Rose bed'
    """
    line = cleaned(text, NAME).replace("\n", " ")
    if stringWidth(line, face, size) <= width:
        return line
    while line and stringWidth(line + "…", face, size) > width:
        line = line[:-1]
    return line.rstrip() + "…"

"""The two typefaces of paper and pages, registered so that nothing is set in an unembedded face."""

from pathlib import Path

from reportlab import rl_config
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

FOLDER = Path(__file__).resolve().parents[1] / "project" / "static" / "fonts"

SERIF = "Source Serif 4"
SERIF_ITALIC = "Source Serif 4 Italic"
SERIF_BOLD = "Source Serif 4 SemiBold"
SANS = "Source Sans 3"
SANS_ITALIC = "Source Sans 3 Italic"
SANS_BOLD = "Source Sans 3 SemiBold"

FILES = {
    SERIF: "source-serif-4-regular.ttf",
    SERIF_ITALIC: "source-serif-4-italic.ttf",
    SERIF_BOLD: "source-serif-4-semibold.ttf",
    SANS: "source-sans-3-regular.ttf",
    SANS_ITALIC: "source-sans-3-italic.ttf",
    SANS_BOLD: "source-sans-3-semibold.ttf",
}

BOX = "\ufffd"


def _register(name: str, file_name: str) -> set[int]:
    """Register one face and return the code points it can draw."""
    font = TTFont(name, str(FOLDER / file_name))
    covered = set(font.face.charToGlyph)
    # Glyph 0 is the face's own empty box: it stands for the signs that the face lacks.
    font.face.charToGlyph[ord(BOX)] = 0
    pdfmetrics.registerFont(font)
    return covered


def _register_all() -> frozenset[int]:
    faces = [_register(name, file_name) for name, file_name in FILES.items()]
    pdfmetrics.registerFontFamily(SERIF, SERIF, SERIF_BOLD, SERIF_ITALIC, SERIF_BOLD)
    pdfmetrics.registerFontFamily(SANS, SANS, SANS_BOLD, SANS_ITALIC, SANS_BOLD)
    return frozenset(set.intersection(*faces))


def _settle_defaults() -> None:
    """Make every default of the PDF library one of our faces, and let it fetch nothing."""
    rl_config.canvas_basefontname = SANS
    rl_config.defaultGraphicsFontName = SANS
    # Styles and drawings take their defaults when they are imported, so not before this.
    from reportlab.graphics import shapes

    shapes.STATE_DEFAULTS["fontName"] = SANS
    rl_config.trustedHosts = []
    rl_config.trustedSchemes = ["data"]


COVERED = _register_all()
_settle_defaults()

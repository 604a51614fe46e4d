"""A sign as the owner takes it from the code: size, colors, words, symbol, and where it stands."""

import warnings
from base64 import b64decode, b64encode
from collections.abc import Mapping, Sequence
from decimal import Decimal
from io import BytesIO
from typing import Any

from django import forms
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from PIL import Image, UnidentifiedImageError

from services.printing.posting_signs import check_fit
from services.sheets.posting_sign import PRINTED, SignDoesNotFit
from treatments.rules.records import (
    OwnSource,
    SignCircle,
    SignDesign,
    SignWords,
    less_than_asked,
    own_design,
)

ROWS, BACK_ROWS = 8, 4
LARGEST = 1024 * 1024
MOST_SIDE = 1200  # dots; 300 to the inch at four inches
# What is typed in brackets, and what is filled in for it.
PLACES = {
    "[business]": "%(business)s",
    "[phone]": "%(phone)s",
    "[date]": "%(date)s",
    "[time]": "%(time)s",
    "[product]": "%(product)s",
    "[re-entry]": "%(entry)s",
    "[remove]": "%(remove)s",
}
COLORS = {
    "yellow": _("yellow"),
    "bright yellow": _("bright yellow"),
    "white": _("white"),
    "green": _("green"),
    "red": _("red"),
    "black": _("black"),
}
POINTS, INCHES = "points", "letters_in"
SIZED = [(POINTS, _("points of type")), (INCHES, _("inches of the smallest letter"))]
NONE, WALKERS, HAND, DRAWN = "", "walkers", "hand", "drawing"
SYMBOLS = [
    (NONE, _("none")),
    (WALKERS, _("adult, child and dog, crossed out, as the book draws them")),
    (HAND, _("raised hand and stern face on red, as the book draws them")),
    (DRAWN, _("the picture given below")),
]
LESS = {
    "small": _("The rule asks for a larger sign: %(width)s by %(height)s inches at least."),
    "not exact": _("The rule asks for exactly %(width)s by %(height)s inches."),
    "letters": _("The rule asks for letters of %(letters)s inches at least."),
}
NO_PICTURE = (UnidentifiedImageError, OSError, SyntaxError, Image.DecompressionBombWarning)


def inches(label):
    """Return a field for a measure of a sign."""
    measure: Any = forms.DecimalField(
        label=label, min_value=Decimal("0.5"), max_value=24, max_digits=5, decimal_places=2
    )
    measure.unit = _("inches")
    return measure


class OwnSignForm(forms.Form):
    """What stands on the sign, from top to bottom; what the table knows is filled in already."""

    width_in = inches(_("width"))
    height_in = inches(_("height"))
    background = forms.ChoiceField(label=_("background"), choices=list(COLORS.items()))
    lettering = forms.ChoiceField(label=_("lettering"), choices=list(COLORS.items()))
    symbol = forms.ChoiceField(label=_("symbol"), choices=SYMBOLS, required=False)
    symbol_in = inches(_("width of the symbol"))
    symbol_after = forms.IntegerField(
        label=_("symbol stands below line"), min_value=0, max_value=ROWS, required=False
    )
    drawing = forms.FileField(
        label=_("picture of the symbol"),
        required=False,
        help_text=_("PNG or JPEG of the figure in the code, at most 1 MB."),
    )
    citation = forms.CharField(
        label=_("where the code has it"),
        max_length=200,
        help_text=_("Rule, section and figure, with the day of the text that you read."),
    )
    compared_on = forms.DateField(label=_("compared on"))

    def __init__(self, *args: Any, design: SignDesign, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.design = design
        for side, rows in (("line", ROWS), ("back", BACK_ROWS)):
            for row in range(1, rows + 1):
                self._add_row(side, row)
        self.fields["symbol_in"].required = False
        last = ("symbol", "symbol_in", "symbol_after", "drawing", "citation", "compared_on")
        self.order_fields([name for name in self.fields if name not in last] + list(last))
        for name, value in begun(design).items():
            self.fields[name].initial = value

    def _add_row(self, side: str, row: int) -> None:
        facts = {"number": row}
        label = _("line %(number)s") if side == "line" else _("line %(number)s of the back")
        words = forms.CharField(label=label % facts, max_length=120, required=False)
        if row == 1 and side == "line":
            words.help_text = _("Word for word. Filled in by the book: %(places)s.") % {
                "places": " ".join(PLACES)
            }
        self.fields[f"{side}_{row}"] = words
        self.fields[f"{side}_{row}_size"] = forms.DecimalField(
            label=_("size of line %(number)s") % facts,
            min_value=Decimal("0.1"),
            max_value=300,
            max_digits=6,
            decimal_places=3,
            required=False,
        )
        self.fields[f"{side}_{row}_in"] = forms.ChoiceField(
            label=_("counted in"), choices=SIZED, required=False
        )

    def clean_drawing(self) -> str:
        """Return the picture drawn anew as a PNG in base64, "" without one."""
        file = self.cleaned_data["drawing"]
        if file is None:
            return ""
        if file.size > LARGEST:
            raise forms.ValidationError(_("A picture of a symbol has at most 1 MB."))
        try:
            with warnings.catch_warnings():
                warnings.simplefilter("error", Image.DecompressionBombWarning)
                picture = Image.open(file, formats=("PNG", "JPEG"))
                picture.thumbnail((MOST_SIDE, MOST_SIDE))
                drawn = BytesIO()
                picture.convert("RGBA").save(drawn, "PNG")
        except NO_PICTURE as error:
            raise forms.ValidationError(_("This is no picture (JPEG, PNG).")) from error
        return b64encode(drawn.getvalue()).decode()

    def clean_compared_on(self):
        """Refuse a day to come."""
        day = self.cleaned_data["compared_on"]
        if day > timezone.localdate():
            raise forms.ValidationError(_("That day is still to come."))
        return day

    def clean(self) -> Any:
        """Put the parts together, hold them against the rule as the table knows it, and lay out."""
        typed = super().clean() or {}
        typed["parts"] = self._with_symbol(self._rows(typed, "line", ROWS), typed)
        typed["back"] = self._rows(typed, "back", BACK_ROWS)
        if not any("words" in part for part in typed["parts"]):
            self.add_error("line_1", _("Type the words of the sign."))
        if not self.errors:
            self._hold_against_rule(typed)
        if not self.errors:
            self._lay_out(typed)
        return typed

    def _rows(self, typed: Mapping[str, Any], side: str, rows: int) -> list[dict[str, str]]:
        parts = []
        for row in range(1, rows + 1):
            words, size = typed.get(f"{side}_{row}"), typed.get(f"{side}_{row}_size")
            if words and not size:
                self.add_error(f"{side}_{row}_size", _("Say how large these letters are."))
            elif words:
                unit = typed.get(f"{side}_{row}_in") or POINTS
                parts.append({"words": filled(words), unit: str(size)})
        return parts

    def _with_symbol(
        self, parts: Sequence[dict[str, str]], typed: Mapping[str, Any]
    ) -> list[dict[str, str]]:
        symbol, width = typed.get("symbol"), typed.get("symbol_in")
        if not symbol:
            return list(parts)
        if width is None:
            self.add_error("symbol_in", _("Say how wide the symbol is."))
            return list(parts)
        if symbol == DRAWN and not typed.get("drawing"):
            self.add_error("drawing", _("Give the picture of the symbol."))
        figure = {"drawing_in": str(width)}
        if symbol != DRAWN:
            figure = {"circle_in": str(width), "figure": symbol}
        place = typed.get("symbol_after") or 0
        return [*parts[:place], figure, *parts[place:]]

    def _hold_against_rule(self, typed: Mapping[str, Any]) -> None:
        posting = self.design.posting
        facts = {
            "width": posting.width_in,
            "height": posting.height_in,
            "letters": posting.letter_min_in,
        }
        for lack in less_than_asked(posting, typed):
            self.add_error(None, LESS[lack] % facts)

    def _lay_out(self, typed: Mapping[str, Any]) -> None:
        """Refuse what is more than the sign holds."""
        source = OwnSource("", typed["compared_on"], typed["citation"])
        drawing = b64decode(typed.get("drawing") or "")
        try:
            check_fit(own_design(self.design, typed, source, drawing))
        except SignDoesNotFit:
            sentence = _("This is more than the sign holds at that size of its letters.")
            self.add_error(None, sentence)

    def told(self) -> dict[str, Any]:
        """Return the columns of an own sign; a drawing that is not used is not kept."""
        names = ("width_in", "height_in", "background", "lettering", "parts", "back")
        told = {name: self.cleaned_data[name] for name in (*names, "citation", "compared_on")}
        is_drawn = self.cleaned_data["symbol"] == DRAWN
        return told | {"drawing": self.cleaned_data["drawing"] if is_drawn else ""}


def filled(words: str) -> str:
    """Return typed words with the places of the table for what stands in brackets.

    >>> filled("100% off, [business]")
    '100%% off, %(business)s'
    """
    text = words.replace("%", "%%")
    for typed, place in PLACES.items():
        text = text.replace(typed, place)
    return text


def typed_from(words: str) -> str:
    """Return words of the table as they are typed.

    >>> typed_from("Keep off until %(entry)s")
    'Keep off until [re-entry]'
    """
    for typed, place in PLACES.items():
        words = words.replace(place, typed)
    return words.replace("%%", "%")


def begun(design: SignDesign) -> dict[str, Any]:
    """Return what the form begins with: what the table knows of the sign."""
    posting = design.posting
    known: dict[str, Any] = {
        "width_in": design.width_in or None,
        "height_in": design.height_in or None,
        "background": _color(posting.background, "white"),
        "lettering": _color(posting.lettering, "black"),
    }
    row = 0
    for part in design.parts:
        if isinstance(part, SignCircle):
            known |= {"symbol": part.figure, "symbol_in": part.circle_in, "symbol_after": row}
        elif isinstance(part, SignWords):
            row += 1
            known[f"line_{row}"] = typed_from(part.words)
            known[f"line_{row}_size"] = part.points or part.letters_in
            known[f"line_{row}_in"] = POINTS if part.points else INCHES
    return known


def _color(told: str | None, otherwise: str) -> str:
    first = (told or "").partition(",")[0].removesuffix(" bold").strip()
    return first if first in PRINTED else otherwise

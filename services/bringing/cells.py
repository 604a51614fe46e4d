"""How the cells of a file are read and written: one reader a kind of value.

Each refuses what it cannot read with a sentence that says how it is written.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import override
from import_export.widgets import Widget

from services.bringing.refused import Refused

NUMBER = re.compile(r"[+-]?(?:\d{1,3}(?:,\d{3})+|\d{1,15})?(?:\.\d{1,15})?")
ISO_DAY = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[ T]00:00(?::00)?)?")
US_DAY = re.compile(r"(\d{1,2})/(\d{1,2})/(\d{4})")
YES = {"yes", "y", "true", "t", "1", "x", "sí", "si", "s", "verdadero"}
NO = {"no", "n", "false", "f", "0", "falso"}


class Cell(Widget):
    """Reads a text; the other readers begin with it."""

    def clean(self, value: Any, row: Any = None, **kwargs: Any) -> Any:
        """Return what a cell says; raise ValueError with a sentence where it cannot be read."""
        if isinstance(value, Refused):
            raise ValueError(str(value))
        return self.read(str(value).strip()) if value not in (None, "") else self.nothing()

    def nothing(self) -> Any:
        """Return what an empty cell says."""
        return ""

    def read(self, text: str) -> Any:
        """Return what a text says."""
        return text

    def explained(self) -> str:
        """Return in words how it is written."""
        return _("text")

    def render(self, value: Any, obj: Any = None, **kwargs: Any) -> Any:
        return "" if value is None else value


class NoneWhenEmpty(Cell):
    """A reader for which an empty cell is nothing, not an empty text."""

    def nothing(self) -> Any:
        return None


class Number(NoneWhenEmpty):
    """Reads a number with a decimal point; commas may part thousands only."""

    def read(self, text: str) -> Decimal:
        digits = text.replace("\N{MINUS SIGN}", "-").removeprefix("$")
        if not NUMBER.fullmatch(digits) or not any(sign.isdigit() for sign in digits):
            raise ValueError(
                _("“%(text)s” is not a number: write it as 12.5, without its unit.")
                % {"text": _short(text)}
            )
        return Decimal(digits.replace(",", ""))

    def explained(self) -> str:
        return _("a number, such as 12.5")

    def render(self, value: Any, obj: Any = None, **kwargs: Any) -> Any:
        return value if not isinstance(value, Decimal) else Decimal(f"{value.normalize():f}")


class Whole(NoneWhenEmpty):
    """Reads a whole number."""

    def read(self, text: str) -> int:
        number = Number().read(text)
        if number != number.to_integral_value():
            raise ValueError(_("“%(text)s” is not a whole number.") % {"text": _short(text)})
        return int(number)

    def explained(self) -> str:
        return _("a whole number")


class Day(NoneWhenEmpty):
    """Reads a day: ISO 8601, or month first as it is written in the United States."""

    def read(self, text: str) -> date:
        iso, american = ISO_DAY.fullmatch(text), US_DAY.fullmatch(text)
        try:
            if iso:
                return date(int(iso[1]), int(iso[2]), int(iso[3]))
            if american:
                return date(int(american[3]), int(american[1]), int(american[2]))
        except ValueError:
            pass  # no such day: told below like any other text
        raise ValueError(
            _("“%(text)s” is not a day: write it as 2026-05-04, or 5/4/2026 with the month first.")
            % {"text": _short(text)}
        )

    def explained(self) -> str:
        return _("a day, such as 2026-05-04")

    def render(self, value: Any, obj: Any = None, **kwargs: Any) -> Any:
        return "" if value is None else value.isoformat()


class YesNo(NoneWhenEmpty):
    """Reads yes or no."""

    def read(self, text: str) -> bool:
        word = text.casefold()
        if word in YES | NO:
            return word in YES
        raise ValueError(_("“%(text)s” is neither yes nor no.") % {"text": _short(text)})

    def explained(self) -> str:
        return _("yes or no")

    def render(self, value: Any, obj: Any = None, **kwargs: Any) -> Any:
        return "yes" if value else "no"


class OneOf(Cell):
    """Reads one of a few words, as the book keeps it or as its pages show it."""

    def __init__(self, choices: Iterable[tuple[Any, Any]]):
        super().__init__()
        self.choices = [(str(value), label) for value, label in choices]

    def read(self, text: str) -> str:
        found = self.words().get(text.casefold())
        if found is None:
            raise ValueError(
                _("“%(text)s” is not known here: write one of %(words)s.")
                % {"text": _short(text), "words": ", ".join(self.values())}
            )
        return found

    def values(self) -> list[str]:
        """Return the words as the book keeps them."""
        return [value for value, _label in self.choices if value]

    def words(self) -> Mapping[str, str]:
        """Return what may be written, in either language, with the word that is kept."""
        if not hasattr(self, "_words"):
            known: dict[str, str] = {}
            for language in ("es", "en"):
                with override(language):
                    known |= {str(label).casefold(): value for value, label in self.choices}
            self._words = known | {value.casefold(): value for value, _label in self.choices}
        return self._words

    def explained(self) -> str:
        return _("one of: %(words)s") % {"words": ", ".join(self.values())}


class Several(Cell):
    """Reads several words with commas between them, of a few where those are given."""

    def __init__(self, choices: Sequence[tuple[Any, Any]] = ()):
        super().__init__()
        self.one = OneOf(choices) if choices else None

    def nothing(self) -> list[str]:
        return []

    def read(self, text: str) -> list[str]:
        words = [word.strip() for word in text.split(",") if word.strip()]
        return [self.one.read(word) for word in words] if self.one else words

    def explained(self) -> str:
        if self.one is None:
            return _("words with commas between them")
        words = ", ".join(self.one.values())
        return _("with commas between them, of: %(words)s") % {"words": words}

    def render(self, value: Any, obj: Any = None, **kwargs: Any) -> Any:
        return ", ".join(value or [])


class Named(NoneWhenEmpty):
    """Reads the name of something that is in the book.

    find: gives the thing of a name, raises LookupError with a sentence where there is not one;
    tell: gives the name of a thing
    """

    def __init__(self, find: Callable[[str], Any], tell: Callable[[Any], str], words: Any):
        super().__init__()
        self.find, self.tell, self.words = find, tell, words

    def read(self, text: str) -> Any:
        try:
            return self.find(text)
        except LookupError as missing:
            raise ValueError(str(missing.args[0])) from missing

    def explained(self) -> str:
        return str(self.words)

    def render(self, value: Any, obj: Any = None, **kwargs: Any) -> Any:
        return "" if value is None else self.tell(value)


def _short(text: str) -> str:
    return text if len(text) <= 40 else f"{text[:39]}…"

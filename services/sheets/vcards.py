"""Clients as vCards 4.0 [RFC6350], for any program that keeps addresses."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

LONGEST_LINE = 75  # octets, without its end [RFC6350 3.2]


@dataclass(frozen=True, slots=True)
class Card:
    """What a card says of a client; "" where it is not known."""

    uid: str
    name: str
    email: str = ""
    phone: str = ""
    street: str = ""
    city: str = ""
    region: str = ""
    postal_code: str = ""
    language: str = ""
    note: str = ""


def vcards(cards: Iterable[Card]) -> Iterator[str]:
    """Yield the text of each card.

    >>> print(next(vcards([Card("urn:uuid:0", "Pen, Ink & Co.")])).replace("\\r", ""), end="")
    BEGIN:VCARD
    VERSION:4.0
    UID:urn:uuid:0
    FN:Pen\\, Ink & Co.
    END:VCARD
    """
    for card in cards:
        lines = ["BEGIN:VCARD", "VERSION:4.0", f"UID:{card.uid}", f"FN:{escaped(card.name)}"]
        lines += _further(card)
        yield "".join(folded(line) for line in [*lines, "END:VCARD"])


def _further(card: Card) -> Iterator[str]:
    for head, text in (("EMAIL", card.email), ("TEL", card.phone), ("LANG", card.language)):
        if text:
            yield f"{head}:{escaped(text)}"
    place = [card.street, card.city, card.region, card.postal_code]
    if any(place):
        # Post office box and extended address stay empty, as the standard advises.
        yield "ADR:;;" + ";".join(escaped(part) for part in [*place, ""])
    if card.note:
        yield f"NOTE:{escaped(card.note)}"


def escaped(text: str) -> str:
    """Return a text as a value: backslash, comma, semicolon and ends of lines [RFC6350 3.4]."""
    plain = text.replace("\\", "\\\\").replace(",", "\\,").replace(";", "\\;")
    return "\\n".join(plain.splitlines())


def folded(line: str) -> str:
    """Return a line cut into lines of at most 75 octets, no sign cut in two [RFC6350 3.2]."""
    parts, room = [""], LONGEST_LINE
    for sign in line:
        size = len(sign.encode())
        if size > room:
            parts.append(" ")
            room = LONGEST_LINE - 1
        parts[-1] += sign
        room -= size
    return "".join(f"{part}\r\n" for part in parts)

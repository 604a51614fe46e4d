"""Letters that tell somebody of a treatment before it is made, to hand over or to leave."""

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.platypus import Flowable, PageBreak, Spacer

from services.sheets.cautions import client_caution
from services.sheets.layout import (
    BODY,
    HEADING,
    LABEL,
    NAMED,
    PLAIN,
    SMALL,
    SMALL_INK,
    STRONG,
    Imprint,
    columns,
    ruled,
    said,
)
from services.sheets.pages import Section, Tongue, bind
from services.sheets.text import NAME
from services.sheets.words import words_in


@dataclass(frozen=True, slots=True)
class NoticePart:
    """The notice in one language."""

    language: str
    subject: str
    opening: str
    facts: tuple[tuple[str, str], ...]
    close: str


@dataclass(frozen=True, slots=True)
class NoticeLetter:
    """A letter to one person, in one language or one after the other.

    imprint: its letterhead, in the language of its first part
    citation: the rule that asks for it, or an empty text
    """

    name: str
    address: str
    parts: tuple[NoticePart, ...]
    imprint: Imprint
    citation: str = ""


def draw_notices(letters: Sequence[NoticeLetter], imprint: Imprint) -> bytes:
    """Return letters, each on a page of its own; the same letters always give the same bytes.

    imprint: of the paper as a whole; the feet of a letter are in the language of its reader
    """
    story: list[Flowable] = []
    for letter in letters:
        story += [PageBreak()] if story else []
        story += _letter(letter)
    return bind(story, imprint, words_in(imprint.language)("Notices before a treatment"))


def _letter(letter: NoticeLetter) -> list[Flowable]:
    imprint = letter.imprint
    width = imprint.measure()
    right = [said(line, SMALL) for line in (imprint.licence, imprint.address, imprint.phone)]
    head = columns([[said(imprint.business, HEADING, NAME)], right], [width * 0.62, width * 0.38])
    to = [said(line, PLAIN) for line in (letter.name, *letter.address.splitlines()) if line]
    story: list[Flowable] = [
        Section(letter.name, imprint=imprint),
        head,
        Spacer(1, 14),
        *to,
        Spacer(1, 6),
    ]
    for part in letter.parts:
        story += _part(part, imprint)
    if letter.citation:
        asked = words_in(imprint.language)("This notice is asked for by %(citation)s.")
        story.append(said(asked % {"citation": letter.citation}, SMALL))
    return story


def _part(part: NoticePart, imprint: Imprint) -> list[Flowable]:
    width = imprint.measure()
    rows = [[said(name, LABEL), said(value, STRONG)] for name, value in part.facts if value]
    table = ruled(rows, [width * 0.36, width * 0.64], padding=(0, 1.5), shape=NAMED)
    return [
        Tongue(part.language),
        Spacer(1, 10),
        said(part.subject, HEADING, 2 * NAME),
        Spacer(1, 4),
        said(part.opening, BODY),
        Spacer(1, 6),
        table,
        Spacer(1, 6),
        said(part.close, BODY),
        Spacer(1, 4),
        said(client_caution(part.language), SMALL_INK),
    ]

"""Notices before a visit as letters on paper."""

from datetime import datetime

from django.utils import translation

from clients.models import Client, Neighbour
from services.models import Visit
from services.printing.imprints import imprint_for
from services.sheets.notice import NoticeLetter, NoticePart, draw_notices
from services.telling import Reader, people_to_tell
from services.telling.wording import languages_of, notice_in
from treatments.saying import cited


def notices_pdf(visit: Visit, *, language: str, now: datetime) -> bytes:
    """Return the letters to all who are to be told of a visit; raise LookupError for nobody.

    language: of the feet of the pages; each letter is in its reader's, head and all
    """
    letters = [letter_to(reader, visit, now) for reader in people_to_tell(visit)]
    if not letters:
        raise LookupError("Nobody is to be told.")
    imprint = imprint_for(language, now, visit.course.property.time_zone)
    return draw_notices(letters, imprint)


def letter_to(reader: Reader, visit: Visit, now: datetime) -> NoticeLetter:
    """Return the letter to one reader."""
    written = [notice_in(each, visit) for each in languages_of(_person(reader, visit))]
    zone = visit.course.property.time_zone
    with translation.override(written[0].language):
        rules = dict.fromkeys(cited(rule.citation) for rule in reader.rules)
    return NoticeLetter(
        name=reader.name,
        address=reader.address.removeprefix(reader.name).strip(),
        parts=tuple(
            NoticePart(each.language, each.subject, each.opening, each.facts, each.close)
            for each in written
        ),
        imprint=imprint_for(written[0].language, now, zone),
        citation="; ".join(rules),
    )


def _person(reader: Reader, visit: Visit) -> Client | Neighbour:
    place = visit.course.property
    if reader.person.startswith("client:"):
        return place.client
    found = {f"neighbour:{each.pk}": each for each in place.neighbours.all()}
    return found[reader.person]

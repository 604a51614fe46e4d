"""The posting sign of a place, with what a visit there says filled in."""

from datetime import datetime

from django.utils import timezone, translation
from django.utils.translation import gettext as _

from clients.models import Property
from services.models import Visit
from services.printing.imprints import imprint_for
from services.printing.signs import posting_in_words, sign_name
from services.sheets import posting_sign as sheet
from services.sheets.cautions import licence_caution
from services.sheets.dates import clock, long_day
from treatments.models import Business, SignConfirmed
from treatments.rulebook import posting_at
from treatments.rules.findings import gettext_noop
from treatments.rules.records import (
    UNSURE,
    OwnSource,
    Posting,
    SignCircle,
    SignDesign,
    SignDrawing,
    SignWords,
    design_of,
    posting_for,
    spacings_of,
)
from treatments.saying import cited
from treatments.signing import confirmed, with_own

BLANK = "____________"
OWN_SIGN = gettext_noop(
    "Words, sizes and figure were taken from the code by %(who)s and compared on %(day)s with "
    "%(citation)s."
)
NOT_OF_THE_TABLE = gettext_noop("The book's table has not verified them.")


def design_for(place: Property, apart_ft: int | None = None) -> SignDesign | None:
    """Return the sign that the rule of a place asks for, or None where none was found.

    apart_ft: for a smaller sign in its place, one of `smaller_signs`

    How a sign is made up goes by the book's table alone; an own rule set knows of none.
    """
    posting = posting_of(place)
    return with_own(design_of(posting, apart_ft)) if posting else None


def posting_of(place: Property) -> Posting | None:
    """Return what the book's table, or else the rules chosen for a place, say of a sign."""
    site = place.production_site
    posting = posting_for(place.jurisdiction, production_site=site)
    if posting is None:
        today = timezone.localdate(timezone=place.zone())
        posting = posting_at(place.jurisdiction, today, production_site=site)
    return posting


def why_no_sign(place: Property) -> tuple[str, ...]:
    """Return why there is no sign to print for a place and what helps; nothing where one is."""
    if posting_of(place) is not None:
        return ()
    remedy = _("Ask the state's agency whether one is asked for, and for its words.")
    return posting_in_words(place.jurisdiction, None), remedy


def smaller_signs(place: Property) -> tuple[int, ...]:
    """Return how many feet apart the smaller signs stand that the rule of a place allows."""
    posting = posting_for(place.jurisdiction, production_site=place.production_site)
    return spacings_of(posting) if posting else ()


def may_be_printed(design: SignDesign) -> bool:
    """Say whether a sign is whole, and was read in the code or compared with it."""
    if not design.can_be_printed():
        return False
    return not design.wants_confirming() or confirmed(design) is not None


def posting_sign_pdf(
    design: SignDesign, place: Property, *, language: str, now: datetime, visit: Visit | None = None
) -> bytes:
    """Return a sign as a PDF, true to size.

    visit: what fills in day, product and re-entry; without one they are left to be written in

    Raises SignDoesNotFit.
    """
    filled = filled_in(place, visit)
    with translation.override(language):
        return sheet.draw_posting_sign(
            sheet.PostingSign(
                imprint=imprint_for(language, now, place.time_zone),
                title=_("Posting sign, %(sign)s") % {"sign": sign_name(design.posting)},
                width_in=float(design.width_in),
                height_in=float(design.height_in),
                background=design.posting.background or "",
                lettering=design.posting.lettering or "",
                parts=tuple(_part(part, filled, design) for part in design.parts),
                beside=tuple(beside(design, language)),
                both_sides=design.both_sides,
                back=tuple(_part(part, filled, design) for part in design.back),
            )
        )


def check_fit(design: SignDesign) -> None:
    """Raise SignDoesNotFit where a sign is too small for what stands on it, its places blank."""
    blank = filled_in(None, None)
    for side in filter(None, (design.parts, design.back)):
        parts = tuple(_part(part, blank, design) for part in side)
        sheet.check_fit(float(design.width_in), float(design.height_in), parts)


def filled_in(place: Property | None, visit: Visit | None) -> dict[str, str]:
    """Return what is filled in; signs are in the language of the rule, which is English."""
    business = Business.of_this_book()
    known = {
        "business": business.name or BLANK,
        "phone": business.phone or BLANK,
        "date": BLANK,
        "product": BLANK,
        "entry": BLANK,
        "time": "",
        "remove": BLANK,
    }
    return known | (_of_visit(place, visit) if place and visit else {})


def _of_visit(place: Property, visit: Visit) -> dict[str, str]:
    at = visit.completed_at or visit.started_at or visit.arrives_at
    day = at.astimezone(place.zone()).date() if at else visit.planned
    records = visit.records.all()
    product = visit.rotation_week.product
    told = {"date": _day(day), "product": product.name if product else BLANK}
    told |= {"time": clock(at.astimezone(place.zone()), "en")} if at else {}
    for name, moments in (
        ("entry", [record.reentry_at for record in records if record.reentry_at]),
        ("remove", [record.removal_at for record in records if record.removal_at]),
    ):
        told |= {name: _day(max(moments).astimezone(place.zone()))} if moments else {}
    return told


def _day(day) -> str:
    return long_day(day, "en").partition(", ")[2]


def _part(
    part: SignWords | SignCircle | SignDrawing, filled: dict[str, str], design: SignDesign
) -> sheet.Words | sheet.Circle | sheet.Drawing:
    if isinstance(part, SignDrawing):
        return sheet.Drawing(float(part.drawing_in), design.drawing)
    if isinstance(part, SignCircle):
        return sheet.Circle(float(part.circle_in), part.leash, part.lawn, part.figure)
    text = part.words % filled
    return sheet.Words(
        text.upper() if part.capitals else text,
        points=float(part.points) if part.points else None,
        letters_in=float(part.letters_in) if part.letters_in else None,
    )


def beside(design: SignDesign, language: str) -> list[str]:
    """Return what is told outside the cut marks: the rule, how it is put up, what decides."""
    posting = design.posting
    told = [cited(posting.citation), posting_in_words(posting.jurisdiction, posting)]
    if posting.mount:
        told.append(_("Mount: %(mount)s.") % {"mount": _(posting.mount)})
    if design.both_sides:
        told.append(_("Both sides alike: fold between the two faces."))
    if any(isinstance(part, SignCircle) for part in design.parts):
        told.append(_("The figures in the circle are drawn after the words of the rule."))
    told += [_(UNSURE[each]) for each in design.unsure]
    if design.own is not None:
        told += [_(each) % design_facts(design.own) for each in (OWN_SIGN, NOT_OF_THE_TABLE)]
    if kept := confirmed(design):
        told.append(_confirmed_by(kept))
    if Business.of_this_book().invented:
        told.append(_("The business is invented for a demonstration."))
    return [*told, licence_caution(language)]


def design_facts(own: OwnSource) -> dict[str, str]:
    """Return whose an own sign is, as the sentences beside it tell it."""
    return {"who": own.who, "day": f"{own.day:%Y-%m-%d}", "citation": own.citation}


def _confirmed_by(kept: SignConfirmed) -> str:
    who = kept.confirmed_by.get_full_name() or kept.confirmed_by.get_username()
    day = f"{kept.confirmed_at:%Y-%m-%d}"
    return _("Compared with the code by %(who)s on %(day)s.") % {"who": who, "day": day}

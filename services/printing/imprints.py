"""Who prints a paper, for which reader, on what, and in which zone its times are told."""

from datetime import datetime

from django.utils import translation
from django.utils.translation import gettext as _

from services.sheets.layout import Imprint
from treatments.models import Business


def imprint_for(language: str, printed_at: datetime, zone: str) -> Imprint:
    """Return what stands at the foot of every page of a paper."""
    business = Business.of_this_book()
    with translation.override(language):
        licence = _("business license %(number)s") % {"number": business.licence_number}
        name = _("%(business)s (invented for a demonstration)") % {"business": business.name}
    return Imprint(
        business=name if business.invented else business.name or "Duskbook",
        licence=licence if business.licence_number else "",
        printed_at=printed_at,
        phone=business.phone,
        address=business.address(),
        language=language,
        paper="a4" if business.paper == Business.Paper.A4 else "letter",
        zone=zone,
    )

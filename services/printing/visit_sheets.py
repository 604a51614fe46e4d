"""The visit sheets of one crew or of all: a page for the day of each, then a page a stop."""

from collections.abc import Iterable
from datetime import datetime

from django.utils import translation
from django.utils.translation import gettext as _
from reportlab.platypus import Flowable, PageBreak

from services.models import Dispatch, Visit
from services.printing.crew_days import crew_day_of
from services.printing.imprints import imprint_for
from services.printing.loading import dispatches_for_paper
from services.printing.stops import stop_of
from services.sheets import visit_sheet as sheet
from services.sheets.pages import bind
from services.sheets.visit_sheet.crew_day import crew_day_page
from services.sheets.visit_sheet.stop import stop_page
from treatments.models import Lot

NOWHERE = "UTC"


def visit_sheets_pdf(
    dispatches: Iterable[Dispatch],
    *,
    language: str,
    now: datetime,
    with_gate_codes: bool = True,
) -> bytes:
    """Return the paper of crews as a PDF, day after day and crew after crew.

    with_gate_codes: False leaves them out, for a reader who may know them on the day only
    """
    given = dispatches_for_paper(dispatches)
    story: list[Flowable] = []
    with translation.override(language):
        for dispatch in given:
            sheets = sheets_of(dispatch, language, now, with_gate_codes=with_gate_codes)
            story += [PageBreak()] if story else []
            story += crew_day_page(sheets)
            for number, stop in enumerate(sheets.stops, start=1):
                story += stop_page(stop, number, sheets)
        zone = given[0].crew.yard.time_zone if given else NOWHERE
        return bind(story, imprint_for(language, now, zone), _("Visit sheets"))


def sheets_of(
    dispatch: Dispatch, language: str, now: datetime, *, with_gate_codes: bool
) -> sheet.VisitSheets:
    """Return the paper of one crew's day, in the language that is spoken now."""
    return sheet.VisitSheets(
        imprint=imprint_for(language, now, dispatch.crew.yard.time_zone),
        day=crew_day_of(dispatch),
        stops=tuple(
            stop_of(
                visit,
                day=dispatch.day,
                crew=dispatch.crew,
                dispatch=dispatch,
                lots=lots_of(visit, dispatch) or None,
                with_gate_code=with_gate_codes,
            )
            for visit in dispatch.visits.all()
        ),
    )


def lots_of(visit: Visit, dispatch: Dispatch) -> list[Lot]:
    """Return the lots on the truck from which a visit takes its product."""
    legs = [leg for leg in dispatch.legs if leg.get("visit") == visit.pk]
    taken = {take["lot"] for leg in legs for take in leg.get("takes", [])}
    loaded = [line.lot for line in dispatch.load.all()]
    return [
        lot
        for lot in loaded
        if lot.product_id == visit.rotation_week.product_id and (not taken or lot.pk in taken)
    ]

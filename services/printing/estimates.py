"""Estimates as paper, drawn once when they are written."""

from collections.abc import Sequence
from decimal import Decimal

from clients.models import Planting
from services.models import Estimate, EstimateWeek
from services.printing.imprints import imprint_for
from services.printing.places import unverified_name
from services.sheets.estimate import EstimateSheet, ProposedLine, draw_estimate
from services.sheets.statement import TaxLine


def estimate_pdf(
    estimate: Estimate, weeks: Sequence[EstimateWeek], plantings: Sequence[Planting]
) -> bytes:
    """Return an estimate as a PDF in the client's language; its data alone gives its bytes."""
    place = estimate.property
    sheet = EstimateSheet(
        imprint=imprint_for(estimate.language, estimate.written_at, place.time_zone),
        number=estimate.number,
        client=place.client.name,
        address=place.address(),
        pest=estimate.rotation.pest.name_in(estimate.language),
        plantings=tuple(planting.name for planting in plantings),
        found=tuple(estimate.found),
        note=estimate.note,
        lines=tuple(
            ProposedLine(week.week, week.day, week.words, week.priced, week.amount)
            for week in weeks
        ),
        taxes=tuple(
            TaxLine(
                tax["name"],
                tax["place"],
                Decimal(tax["percent"]),
                Decimal(tax["base"]),
                Decimal(tax["amount"]),
            )
            for tax in estimate.taxes
        ),
        lines_total=estimate.weeks_total,
        total=estimate.total,
        valid_until=estimate.valid_until,
        unverified_place=unverified_name(place),
    )
    return draw_estimate(sheet)

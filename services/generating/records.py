"""Makes up the rows of records: what was applied, as the book would have copied it."""

from datetime import timedelta
from decimal import ROUND_HALF_UP, Decimal
from random import Random

from services.generating.courses import Applied
from services.generating.terms import Terms
from treatments.gathering import treated_area_of
from treatments.models import ApplicationRecord, Lot, Product
from treatments.recording.clocks import binding_of
from treatments.recording.copying import (
    clearance_columns,
    fitting,
    lot_columns,
    pest_columns,
    place_columns,
)
from treatments.rules.units import Basis, Measure, Unit

THOUSANDTH = Decimal("0.001")
TENTH = Decimal("0.1")
GALLONS_PER_1000_SQ_FT = Decimal("5.3")  # about what a sprayer of the demonstration puts out
WINDS = ["N", "NE", "E", "SE", "S", "SW", "W", "NW"]
VOIDS = 0.15  # share of corrections that say that a record is void


def amounts_of(told: Applied, product: Product) -> tuple[Decimal, Decimal]:
    """Return product, in the unit that it is kept in, and gallons of mix for a planting."""
    area = treated_area_of(told.planting)
    mix = max((area * GALLONS_PER_1000_SQ_FT / 1000).quantize(TENTH), TENTH)
    basis = Basis(told.week.basis)
    batches = Measure(mix, Unit.GALLON).to(basis.per.unit).amount / basis.per.amount
    used = Measure(told.week.sprayed_rate() * batches, basis.amount_unit)
    amount = used.to(Unit(product.stock_unit)).amount.quantize(THOUSANDTH, ROUND_HALF_UP)
    return max(amount, THOUSANDTH), mix


def record_of(
    told: Applied, terms: Terms, lot: Lot, amounts: tuple[Decimal, Decimal], chance: Random
) -> ApplicationRecord:
    """Return the record of an application, without its number.

    It is within what labels, clocks and certificates ask, so that nothing is flagged.
    """
    product = terms.products[lot.product_id]
    captured_at = told.done_at + timedelta(minutes=chance.randint(1, 20))
    record = ApplicationRecord(
        planting=told.planting,
        product=product,
        lot=lot,
        pest=told.rotation.pest,
        applicator=told.by,
        recorded_by=told.by.user,
        rate=told.week.rate,
        rate_basis=told.week.basis,
        product_amount=amounts[0],
        mix_gallons=amounts[1],
        started_at=told.started_at,
        done_at=told.done_at,
        captured_at=captured_at,
        received_at=captured_at + timedelta(minutes=chance.randint(0, 300)),
        posted_at=told.done_at,
        wind_mph=Decimal(chance.randint(0, 70)) / 10,
        wind_direction=chance.choice(WINDS),
        temperature_f=Decimal(chance.randint(520, 820)) / 10,
        humidity_percent=Decimal(chance.randint(350, 800)) / 10,
        method="Backpack sprayer (invented)",
        note="Invented." if chance.random() < 0.1 else "",
        **fitting(
            {
                **place_columns(told.planting),
                **terms.copied(product, told.by),
                **lot_columns(lot),
                **pest_columns(told.rotation.pest),
                **terms.business,
                **clearance_columns(product, told.planting, told.done_at, is_posted=True),
            }
        ),
    )
    record.rules_checked_by = terms.rules(binding_of(record))
    return record


def corrected(wrong: ApplicationRecord, chance: Random) -> ApplicationRecord:
    """Return a second record that amends one or says that it is void, some days later."""
    names = [
        field.attname
        for field in ApplicationRecord._meta.concrete_fields
        if field.attname not in {"id", "number", "event_id"}
    ]
    second = ApplicationRecord(**{name: getattr(wrong, name) for name in names})
    second.amends = wrong
    second.received_at = wrong.received_at + timedelta(days=chance.randint(1, 6))
    second.void = chance.random() < VOIDS
    if second.void:
        second.amendment_reason = "Invented: entered for the wrong place."
    else:
        second.amendment_reason = "Invented: the wind was read wrongly."
        second.wind_mph = Decimal(chance.randint(0, 70)) / 10
    return second

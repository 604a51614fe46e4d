"""Keeps a batch of courses with visits, records, ledger lines, letters and journal entries."""

from collections import Counter
from collections.abc import Sequence
from datetime import timedelta
from decimal import Decimal
from random import Random

from django.db import transaction

from services.generating.courses import Applied, Made, make_courses
from services.generating.records import amounts_of, corrected, record_of
from services.generating.stock import count_out, enter_applied, enter_received, make_lots
from services.generating.terms import Terms
from services.models import Course, Outbox, Visit
from treatments.chain import append_many
from treatments.models import ApplicationRecord
from treatments.recording.entries import draft_of
from treatments.recording.numbering import lock_records, next_number

CORRECTED = 80  # one of so many records corrects another
LOTS_LEFT = 2  # batches whose lots still stand in the store


@transaction.atomic
def make_work(terms: Terms, batch: int) -> None:
    """Put a batch of work in the book: exactly as many records as the batch has."""
    chance = Random(f"{terms.wanted.seed} work {batch}")  # noqa: S311 - no secret hangs on it
    lock_records()
    corrections = terms.wanted.records_in(batch) // CORRECTED
    made = make_courses(terms, batch, terms.wanted.records_in(batch) - corrections, chance)
    _keep_courses(made)
    _keep_records(terms, batch, made, corrections, chance)


def _keep_courses(made: Made) -> None:
    Course.objects.bulk_create(course for course, _ in made.courses)
    treated = Course.plantings.through
    treated.objects.bulk_create(
        treated(course_id=course.pk, planting_id=planting.pk)
        for course, plantings in made.courses
        for planting in plantings
    )
    for visit in made.visits:
        visit.course = visit.course  # which has its key by now
    Visit.objects.bulk_create(made.visits)
    Outbox.objects.bulk_create(
        Outbox(
            kind=Outbox.Kind.CLIENT_SUMMARY,
            arguments={"visit": visit.pk},
            dedupe_key=f"client summary:{visit.pk}",
            not_before=visit.completed_at,
            attempts=1,
            done_at=visit.completed_at,
        )
        for visit in made.visits
        if visit.completed_at and visit.course.property.client.email
    )


def _keep_records(terms: Terms, batch: int, made: Made, corrections: int, chance: Random) -> None:
    amounts = [
        amounts_of(told, terms.products[told.week.sprayed_product().pk]) for told in made.applied
    ]
    wanted = _sums(made.applied, amounts)
    days = [told.visit.planned for told in made.applied]
    lots = make_lots(Counter(wanted), terms.products, batch, min(days))
    received = enter_received(wanted, lots, terms.keeper)

    drawn = [
        (record_of(told, terms, lots[told.week.sprayed_product().pk], amount, chance), told.visit)
        for told, amount in zip(made.applied, amounts, strict=True)
    ]
    drawn.sort(key=lambda pair: pair[0].received_at)
    first = [record for record, _ in drawn]
    _number(first)
    ApplicationRecord.objects.bulk_create(first)
    second = [corrected(wrong, chance) for wrong in chance.sample(first, corrections)]
    second.sort(key=lambda record: record.received_at)
    _number(second)
    ApplicationRecord.objects.bulk_create(second)
    _link(drawn)
    enter_applied([*first, *second])

    counted = []
    if (batch + LOTS_LEFT + 1) * len(first) < terms.wanted.records:
        counted = count_out(lots, max(days) + timedelta(days=7), terms.keeper)
    append_many([*received, *map(draft_of, first), *map(draft_of, second), *counted])


def _sums(
    applied: Sequence[Applied], amounts: Sequence[tuple[Decimal, Decimal]]
) -> dict[int, Decimal]:
    """Return how much of each product is applied, in the unit that it is kept in."""
    sums: dict[int, Decimal] = {}
    for told, (amount, _) in zip(applied, amounts, strict=True):
        key = told.week.sprayed_product().pk
        sums[key] = sums.get(key, Decimal(0)) + amount
    return sums


def _number(records: Sequence[ApplicationRecord]) -> None:
    for number, record in enumerate(records, start=next_number()):
        record.number = number


def _link(drawn: Sequence[tuple[ApplicationRecord, Visit]]) -> None:
    linked = Visit.records.through
    linked.objects.bulk_create(
        linked(visit_id=visit.pk, applicationrecord_id=record.pk) for record, visit in drawn
    )

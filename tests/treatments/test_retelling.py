"""The body that the database writes again is the very one that was kept, whatever its texts."""

from datetime import UTC, datetime
from decimal import Decimal
from uuid import UUID

import pytest

from treatments.models import ApplicationRecord, JournalEntry
from treatments.recording import amend_application, record_application, void_application
from treatments.rules.facts import Conditions
from treatments.verifying.retelling import Retelling

TEXTS = [
    "",
    "plain",
    'said "dry", and went \\ on',
    "two\nlines\tand a tab",
    "péché, araña, 😀",
    "100 % of %s and {braces}",
    "</script> \x7f",
]


def told():
    (row,) = Retelling().of_records(1, 2)
    return row


@pytest.mark.parametrize("text", TEXTS)
def test_a_body_is_written_again_with_the_same_bytes(stated, text):
    record_application(**stated, note=text, weather=text[:20].replace("\n", " "))

    assert told().is_body(JournalEntry.objects.get().body)


def test_moments_amounts_ids_and_flags_are_written_alike(stated):
    air = Conditions(
        at=stated["started_at"],
        wind_mph=Decimal("7.5"),
        wind_direction="SW",
        temperature_f=Decimal("71.5"),
        humidity_percent=Decimal(55),
    )
    parted = datetime(2026, 7, 6, 22, 40, 0, 120, tzinfo=UTC)

    record_application(
        **stated | {"product_amount": Decimal("9.005"), "done_at": parted, "captured_at": parted},
        event_id=UUID(int=7),
        conditions=air,
        posted_at=stated["done_at"],
    )

    assert ApplicationRecord.objects.get().flags
    assert told().is_body(JournalEntry.objects.get().body)


def test_an_amendment_and_a_void_name_what_they_amend(stated, owner):
    second = amend_application(
        record_application(**stated), reason="the note was wrong", by=owner, note="x"
    )
    void_application(second, reason="it was never applied", by=owner)

    rows = list(Retelling().of_records(1, 4))

    assert [row.amends for row in rows] == [0, 1, 2]
    assert all(
        row.is_body(entry.body) for row, entry in zip(rows, JournalEntry.objects.all(), strict=True)
    )


@pytest.mark.parametrize("changed", ["A\u030a", "x\x01", "other"])
def test_another_body_is_not_taken_for_it(stated, changed):
    record_application(**stated, note="Mrs Reading")
    body = JournalEntry.objects.get().body

    assert not told().is_body(body.replace("Mrs Reading", changed))
    assert not told().is_body(body.replace('"salt":"', '"salt":"x'))
    assert not told().is_body(body + " ")

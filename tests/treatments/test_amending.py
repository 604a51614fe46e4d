"""A wrong record is corrected by a second one; the first stays as it is."""

from datetime import UTC, datetime, timedelta
from decimal import Decimal
from uuid import UUID

import pytest
import time_machine
from django.core.exceptions import ValidationError

from clients.models import Planting
from treatments.models import ApplicationRecord, Certificate, Lot
from treatments.recording import (
    amend_application,
    current_of,
    history_of,
    record_application,
    void_application,
)

REASON = "The amount was misread."
EVENT = UUID("019f0000-0000-7000-8000-000000000002")


@pytest.fixture
def record(stated):
    with time_machine.travel(datetime(2026, 7, 6, 22, 50, tzinfo=UTC), tick=False):
        return record_application(**stated)


def test_an_amendment_is_a_whole_record_that_names_the_first(record, dispatcher):
    second = amend_application(
        record, reason=REASON, by=dispatcher, product_amount=Decimal(8), note="8, not 9."
    )

    assert (second.number, second.amends, second.amendment_reason) == (2, record, REASON)
    assert (second.product_amount, second.note) == (8, "8, not 9.")
    assert second.customer_name == "Reading Society"
    record.refresh_from_db()
    assert record.product_amount == 9


@pytest.mark.parametrize(("amount", "left"), [("8", 120), ("10.5", "117.5"), ("9", 119)])
def test_the_store_is_set_right_by_a_counter_entry(record, soap_lot, dispatcher, amount, left):
    amend_application(
        record, reason=REASON, by=dispatcher, product_amount=Decimal(amount), note="Read again."
    )

    assert soap_lot.left() == Decimal(left)


def test_an_amount_that_stays_leaves_the_ledger_alone(record, dispatcher):
    second = amend_application(record, reason=REASON, by=dispatcher, note="It was cloudy.")

    assert not second.stock_entries.exists()


def test_another_lot_gives_what_the_first_had_given(record, soap, soap_lot, dispatcher):
    other = Lot.objects.create(product=soap, lot_number="S-2", received_on="2026-03-02")

    second = amend_application(record, reason=REASON, by=dispatcher, lot=other)

    assert (soap_lot.left(), other.left()) == (128, -9)
    assert second.lot_number == "S-2"
    assert {flag["code"] for flag in second.flags} == {"count-needed"}


def test_a_chain_of_amendments_draws_only_what_the_last_one_says(record, soap_lot, dispatcher):
    for amount in (20, 5):
        record = amend_application(
            record, reason=REASON, by=dispatcher, product_amount=Decimal(amount)
        )

    assert soap_lot.left() == 123


@pytest.mark.parametrize(("reason", "enough"), [("123456789", False), ("1234567890", True)])
def test_a_reason_has_ten_signs(record, dispatcher, reason, enough):
    if enough:
        assert amend_application(record, reason=reason, by=dispatcher, note="x").number == 2
        return
    with pytest.raises(ValidationError) as refused:
        amend_application(record, reason=reason, by=dispatcher, note="x")

    assert refused.value.code == "reason_too_short"


def test_blanks_are_no_reason(record, dispatcher):
    with pytest.raises(ValidationError, match="10 signs"):
        amend_application(record, reason=" " * 20, by=dispatcher, note="x")


def test_a_record_is_amended_once_and_the_refusal_names_the_newer(record, dispatcher):
    amend_application(record, reason=REASON, by=dispatcher, note="first")

    with pytest.raises(ValidationError, match="Record 1 was amended already, by record 2"):
        amend_application(record, reason=REASON, by=dispatcher, note="second")

    assert ApplicationRecord.objects.count() == 2


def test_an_amendment_that_changes_nothing_is_refused(record, dispatcher):
    with pytest.raises(ValidationError) as refused:
        amend_application(record, reason=REASON, by=dispatcher, product_amount=Decimal("9.000"))

    assert refused.value.code == "nothing_changed"


def test_the_same_event_amends_once(record, dispatcher):
    first = amend_application(record, reason=REASON, by=dispatcher, event_id=EVENT, note="x")

    again = amend_application(record, reason=REASON, by=dispatcher, event_id=EVENT, note="x")

    assert again == first


def test_what_was_copied_that_day_is_copied_once(record, library, soap, dispatcher):
    library.street, soap.label_version = "3 Other Street", "2026-08"
    soap.first_aid = "Printed later."
    library.save()
    soap.save()

    second = amend_application(record, reason=REASON, by=dispatcher, note="x")

    assert second.site_address == record.site_address
    assert second.label_version == "2025-01"
    assert second.first_aid == ""


def test_another_planting_brings_its_own_place(record, library, dispatcher):
    hedge = Planting.objects.create(
        property=library,
        name="Hedge",
        common_name="rose",
        species="Rosa rugosa",
        plant_group="rose",
        habit="bed",
        length_ft=Decimal(20),
        width_ft=Decimal(5),
    )

    second = amend_application(record, reason=REASON, by=dispatcher, planting=hedge)

    assert second.site_description == "Hedge: rose (Rosa rugosa)"
    assert second.treated_area_sq_ft == 100
    assert second.product_name == "Quiet Soap"


def test_another_hour_moves_the_re_entry_with_it(record, soap, dispatcher):
    soap.reentry_hours = Decimal(24)  # a later label does not reach back
    soap.save()
    done = record.done_at - timedelta(hours=2)

    second = amend_application(record, reason=REASON, by=dispatcher, started_at=done, done_at=done)

    assert second.reentry_at == done + timedelta(hours=12)


def test_another_day_asks_for_a_certificate_of_that_day(record, dispatcher):
    Certificate.objects.update(issued_on="2026-07-06")
    done = record.done_at - timedelta(days=1)

    second = amend_application(record, reason=REASON, by=dispatcher, started_at=done, done_at=done)

    assert second.applicator_licence_number == ""
    assert "certificate-not-issued" in {flag["code"] for flag in second.flags}


def test_an_amendment_is_never_late(record, dispatcher):
    with time_machine.travel(record.done_at + timedelta(days=30), tick=False):
        second = amend_application(record, reason=REASON, by=dispatcher, note="x")

    assert second.flags == []


def test_a_measure_can_be_taken_away(record, dispatcher):
    first = amend_application(record, reason=REASON, by=dispatcher, wind_mph=Decimal(4))

    second = amend_application(first, reason=REASON, by=dispatcher, wind_mph=None)

    assert second.wind_mph is None


def test_a_void_record_gives_the_store_back_what_it_drew(record, soap_lot, dispatcher):
    void = void_application(record, reason="Nothing was applied.", by=dispatcher)

    assert void.void
    assert soap_lot.left() == 128
    assert list(ApplicationRecord.objects.current()) == []


def test_a_void_record_stays_void(record, dispatcher):
    void = void_application(record, reason="Nothing was applied.", by=dispatcher)

    with pytest.raises(ValidationError, match="stays void"):
        amend_application(void, reason=REASON, by=dispatcher, note="x")


def test_the_history_shows_each_record_and_what_it_changed(record, dispatcher):
    second = amend_application(record, reason=REASON, by=dispatcher, product_amount=Decimal(8))
    third = void_application(second, reason="Nothing was applied.", by=dispatcher)

    for asked in (record, second, third):
        revisions = history_of(asked)
        assert [revision.record for revision in revisions] == [record, second, third]

    changed = [[(d.column, d.before, d.after) for d in r.differences] for r in revisions]
    assert changed == [[], [("product_amount", 9, 8)], [("void", False, True)]]


def test_the_current_record_is_the_last(record, dispatcher):
    second = amend_application(record, reason=REASON, by=dispatcher, note="x")

    assert current_of(record) == current_of(second) == second
    assert list(ApplicationRecord.objects.current()) == [second]

"""Whatever is sent in whatever order and however often, the book holds the same records.

Faults are put between statements, and eight requests come at once: a repeat makes nothing twice.
"""

from datetime import timedelta
from itertools import count
from threading import Thread

import pytest
from django.db import OperationalError, connection, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from services.models import FieldEvent, Outbox
from tests.services.field.conftest import NOW, Phone
from treatments.models import ApplicationRecord, JournalEntry, StockEntry

# Each example is rolled back, so the fixtures are as good for the next one.
IN_A_TRANSACTION = {
    "suppress_health_check": [HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
    "max_examples": 8,
}


@pytest.fixture
def day_of_events(phone, completes, dispatched):
    """A visit begun, noted and completed, and a stop that was not planned."""
    return [
        phone.event("start", visit_id=dispatched.pk),
        phone.event("note", visit_id=dispatched.pk, body={"text": "webs"}),
        completes(phone),
        phone.event("unplanned", body={"where": "the hedge next door"}),
    ]


def kept():
    """Return what the book holds of the field, whatever the order in which it came."""
    return (
        sorted((str(e.event_id), e.result, e.records.count()) for e in FieldEvent.objects.all()),
        [record.product_amount for record in ApplicationRecord.objects.all()],
        StockEntry.objects.filter(kind="applied").count(),
        Outbox.objects.count(),
    )


@settings(**IN_A_TRANSACTION)
@given(data=st.data())
def test_any_order_and_any_repetition_give_the_same_records(data, phone, day_of_events):
    repeats = st.lists(st.sampled_from(range(4)), min_size=4, max_size=9)
    order = data.draw(repeats.filter(lambda order: set(order) == set(range(4))))
    size = data.draw(st.integers(1, 4))
    with transaction.atomic():
        phone.say(*day_of_events)
        expected = kept()
        transaction.set_rollback(True)

    with transaction.atomic():
        for first in range(0, len(order), size):
            phone.say(*(day_of_events[place] for place in order[first : first + size]))
        assert kept() == expected
        transaction.set_rollback(True)


@settings(**IN_A_TRANSACTION)
@given(statement=st.integers(1, 400))
def test_an_interruption_anywhere_loses_nothing_and_doubles_nothing(
    statement, phone, day_of_events
):
    with transaction.atomic():
        interrupted = sent_with_fault_at(statement, phone, day_of_events)
        assert interrupted.status_code in (200, 503)
        phone.say(*day_of_events)
        assert [row[2] for row in kept()[0]].count(1) == 1
        assert (ApplicationRecord.objects.count(), Outbox.objects.count()) == (1, 1)
        assert FieldEvent.objects.count() == 4
        transaction.set_rollback(True)


def sent_with_fault_at(statement, phone, events):
    """Send events while the database fails once, at one of its statements that write."""
    done = count(1)

    def fail(execute, sql, params, many, context):
        if sql.startswith(("INSERT", "UPDATE")) and next(done) == statement % 40 + 1:
            raise OperationalError("the disk is gone for a moment")
        return execute(sql, params, many, context)

    with connection.execute_wrapper(fail):
        phone.api.raise_request_exception = False
        return phone.send(*events)


def test_twenty_times_the_same_makes_one_record_one_draw_and_one_mail(phone, completes):
    event = completes(phone)

    numbers = {phone.say(event)[0]["records"][0]["number"] for _ in range(20)}

    assert len(numbers) == 1
    assert (ApplicationRecord.objects.count(), Outbox.objects.count()) == (1, 1)
    assert StockEntry.objects.filter(kind="applied").count() == 1


def test_after_four_hundred_days_it_is_still_known(phone, completes, clock):
    event = completes(phone)
    (first,) = phone.say(event)
    clock.move_to(NOW + timedelta(days=400))
    type(phone.device).objects.update(last_contact_at=NOW + timedelta(days=399))

    (again,) = phone.say(event)

    assert again == first | {"result": "duplicate"}


def test_after_a_restore_the_phone_fills_what_the_backup_missed(phone, completes, day_of_events):
    # The backup was taken before the first event: the phone offers its receipted events again.
    with transaction.atomic():
        phone.say(*day_of_events)
        expected = kept()
        transaction.set_rollback(True)

    phone.say(*day_of_events)

    assert kept() == expected


def test_a_visit_is_kept_whole_or_not_at_all(phone, completes):
    event = completes(phone)
    nothing = everything()
    with transaction.atomic():
        phone.say(event)
        all_of_it = everything()
        transaction.set_rollback(True)

    for statement in range(16):
        with transaction.atomic():
            sent_with_fault_at(statement, phone, [event])
            assert everything() in (nothing, all_of_it)
            transaction.set_rollback(True)


def everything():
    return kept(), JournalEntry.objects.count(), StockEntry.objects.count()


@pytest.mark.servers
@pytest.mark.django_db(transaction=True)
def test_eight_at_once_make_one_record(phone, completes):
    if connection.vendor != "postgresql":
        pytest.skip("one writer at a time is what the database gives by itself")
    event, numbers = completes(phone), []

    def send():
        own = Phone(phone.device, phone.token)
        try:
            numbers.append(own.say(event)[0]["records"][0]["number"])
        finally:
            connection.close()

    threads = [Thread(target=send) for _ in range(8)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(numbers) == 8
    assert len(set(numbers)) == ApplicationRecord.objects.count() == 1

"""A visit completed: all of it in one transaction, once, and flagged rather than refused."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from itertools import count
from threading import Thread
from uuid import UUID

import pytest
from django.core.exceptions import ValidationError
from django.db import connection, transaction

from services.completing import (
    ApplicationReport,
    VisitReport,
    add_report,
    check_before_spraying,
    complete_visit,
    start_visit,
)
from services.dispatching import dispatch_day, reserved_amounts
from services.models import Outbox, Visit
from treatments.models import ApplicationRecord, StockEntry
from treatments.rules.facts import Conditions

BEGUN = datetime(2026, 7, 6, 22, 0, tzinfo=UTC)
DONE = datetime(2026, 7, 6, 22, 40, tzinfo=UTC)
FORM = UUID("01900000-0000-7000-8000-000000000001")
OTHER_FORM = UUID("01900000-0000-7000-8000-000000000002")


@pytest.fixture
def report(rose_bed, soap_lot, sprayer):
    """7.5 fl oz of soap in 3 gallons on the roses, as planned."""
    return ApplicationReport(
        planting=rose_bed,
        lot=soap_lot,
        product_amount=Decimal("7.5"),
        mix_gallons=Decimal(3),
        sprayer=sprayer,
    )


@pytest.fixture
def told(report, applicator, technician):
    """What the crew tells of the visit."""
    return {
        "reports": [report],
        "conditions": Conditions(
            at=BEGUN,
            wind_mph=Decimal(4),
            wind_direction="SW",
            temperature_f=Decimal(72),
            humidity_percent=Decimal(60),
        ),
        "started_at": BEGUN,
        "done_at": DONE,
        "applicator": applicator,
        "by": technician,
        "captured_at": DONE + timedelta(minutes=5),
        "posted_at": DONE,
        "form_id": FORM,
        "now": DONE + timedelta(minutes=10),
    }


def codes(record):
    return [flag["code"] for flag in record.flags]


def snapshot():
    return [
        list(model.objects.order_by("pk").values())
        for model in (ApplicationRecord, StockEntry, Outbox, Visit, Visit.records.through)
    ]


def test_a_visit_that_is_begun_is_under_way(visits, technician):
    first = start_visit(visits[0], by=technician, at=BEGUN)
    second = start_visit(visits[0], by=technician, at=DONE)

    visits[0].refresh_from_db()
    assert (first, second) == (True, False)
    assert (visits[0].state, visits[0].started_at) == ("IN-PROCESS", BEGUN)


def test_a_cancelled_visit_is_not_begun(visits, technician):
    Visit.objects.update(state="CANCELLED")

    with pytest.raises(ValidationError) as refused:
        start_visit(visits[0], by=technician, at=BEGUN)

    assert refused.value.code == "cancelled"


def test_a_completed_visit_has_its_record_and_its_time(visits, told):
    (record,) = complete_visit(visits[0], **told)

    visits[0].refresh_from_db()
    assert (visits[0].state, visits[0].completed_at) == ("COMPLETED", DONE)
    assert list(visits[0].records.all()) == [record]
    assert (record.product_name, record.rate, record.rate_basis) == (
        "Quiet Soap",
        Decimal("2.5"),
        "fl oz/gal",
    )
    assert codes(record) == []


def test_the_record_holds_what_was_measured_and_who_recommended(visits, told):
    (record,) = complete_visit(visits[0], **told)

    assert (record.wind_mph, record.wind_direction, record.temperature_f) == (4, "SW", 72)
    assert (record.recommender_name, record.posted_at) == ("owner", DONE)
    assert record.recorded_by.username == "technician"


def test_the_store_is_drawn_on(visits, told, soap_lot):
    complete_visit(visits[0], **told)

    assert soap_lot.left() == Decimal("120.5")


def test_the_next_week_is_counted_from_the_day_it_was_done(visits, told):
    late = {"started_at": BEGUN + timedelta(days=2), "done_at": DONE + timedelta(days=2)}
    complete_visit(visits[0], **told | late)

    visits[1].refresh_from_db()
    assert (visits[1].earliest.day, visits[1].planned.day, visits[1].latest.day) == (13, 15, 17)


def test_the_client_s_summary_waits_to_go_out(visits, told):
    complete_visit(visits[0], **told)

    row = Outbox.objects.get()
    assert (row.kind, row.arguments) == ("client summary", {"visit": visits[0].pk})


def test_a_client_without_an_address_gets_no_mail(visits, told, reading_society):
    reading_society.email = ""
    reading_society.save()

    complete_visit(visits[0], **told)

    assert not Outbox.objects.exists()


def test_the_same_form_again_gives_the_same_records_and_changes_nothing(visits, told):
    first = complete_visit(visits[0], **told)
    before = snapshot()

    second = complete_visit(visits[0], **told)

    assert second == first
    assert snapshot() == before


def test_a_second_person_is_told_who_was_first(visits, told, owner):
    complete_visit(visits[0], **told)

    with pytest.raises(
        ValidationError, match="technician completed this visit at 2026-07-06 18:40"
    ):
        complete_visit(visits[0], **told | {"form_id": OTHER_FORM, "by": owner})

    assert ApplicationRecord.objects.count() == 1


def test_the_report_of_a_second_person_is_kept_and_flagged(visits, told, owner, soap_lot):
    (first,) = complete_visit(visits[0], **told)
    words = {name: value for name, value in told.items() if name != "now"}
    second_told = VisitReport(
        **words | {"form_id": OTHER_FORM, "by": owner, "reports": tuple(told["reports"])}
    )

    (second,) = add_report(visits[0], second_told)
    again = add_report(visits[0], second_told)

    assert again == [second]
    assert "second-report" in codes(second)
    assert set(visits[0].records.all()) == {first, second}
    assert soap_lot.left() == 113


def test_a_step_without_a_spray_is_completed_without_a_record(visits, rotation, told):
    rotation.weeks.filter(week=1).update(step="wash", product=None, rate=None, basis="")

    records = complete_visit(visits[0], **told | {"reports": [], "applicator": None})

    visits[0].refresh_from_db()
    assert (records, visits[0].state) == ([], "COMPLETED")


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"reports": []}, "no_reports"),
        ({"applicator": None}, "no_applicator"),
        ({"done_at": BEGUN - timedelta(seconds=1)}, "ends_first"),
    ],
)
def test_what_makes_no_report_yet_is_asked_for(visits, told, change, code):
    with pytest.raises(ValidationError) as refused:
        complete_visit(visits[0], **told | change)

    assert refused.value.code == code


def test_what_was_sprayed_at_a_step_without_a_spray_needs_its_rate(visits, rotation, soap, told):
    rotation.weeks.filter(week=1).update(step="wash", product=None, rate=None, basis="")
    sprayed = replace(told["reports"][0], product=soap)

    with pytest.raises(ValidationError) as refused:
        complete_visit(visits[0], **told | {"reports": [sprayed]})

    assert refused.value.code == "no_rate"


def test_what_was_applied_during_a_hold_is_kept_and_flagged(visits, told):
    hold = visits[0].holds.create(reason="wind", set_at=BEGUN - timedelta(hours=1))

    (record,) = complete_visit(visits[0], **told)

    hold.refresh_from_db()
    assert codes(record) == ["applied-during-hold"]
    assert hold.lifted_at is None


@pytest.mark.parametrize(("seconds", "flags"), [(0, []), (1, ["applied-during-hold"])])
def test_a_hold_counts_until_it_was_lifted(visits, told, seconds, flags):
    lifted = BEGUN + timedelta(seconds=seconds)
    visits[0].holds.create(reason="wind", set_at=BEGUN - timedelta(hours=1), lifted_at=lifted)

    (record,) = complete_visit(visits[0], **told)

    assert codes(record) == flags


def test_a_visit_that_had_been_cancelled_is_kept_and_flagged(visits, told):
    Visit.objects.filter(pk=visits[0].pk).update(state="CANCELLED")

    (record,) = complete_visit(visits[0], **told)

    visits[0].refresh_from_db()
    assert (codes(record), visits[0].state) == (["applied-after-cancelling"], "COMPLETED")


@pytest.mark.parametrize(("days", "flags"), [(4, []), (5, ["out-of-days"])])
def test_after_the_latest_day_it_is_kept_and_flagged(visits, told, days, flags):
    later = {
        name: told[name] + timedelta(days=days)
        for name in ("started_at", "done_at", "captured_at", "now", "posted_at")
    }

    (record,) = complete_visit(visits[0], **told | later)

    assert codes(record) == flags


def test_more_than_the_label_allows_is_kept_and_flagged(visits, told, report):
    strong = ApplicationReport(report.planting, report.lot, Decimal("15.1"), report.mix_gallons)

    (record,) = complete_visit(visits[0], **told | {"reports": [strong]})

    assert any("rate" in code for code in codes(record))


@pytest.mark.parametrize(("amount", "stands"), [("15", False), ("15.1", True)])
def test_the_label_is_asked_before_anything_is_sprayed(visits, told, report, amount, stands):
    # the label allows 5 fl oz/gal, which is 15 fl oz in 3 gallons
    about_to = ApplicationReport(report.planting, report.lot, Decimal(amount), report.mix_gallons)

    findings = check_before_spraying(
        visits[0],
        reports=[about_to],
        conditions=told["conditions"],
        at=BEGUN,
        applicator=told["applicator"],
    )

    assert any(finding.severity == "refusal" for finding in findings) is stands
    assert not ApplicationRecord.objects.exists()


def test_wind_stands_against_spraying(visits, told, report, soap):
    soap.wind_maximum_mph = 10
    soap.save()

    findings = check_before_spraying(
        visits[0],
        reports=[report],
        conditions=Conditions(at=BEGUN, wind_mph=Decimal("10.1"), temperature_f=Decimal(70)),
        at=BEGUN,
        applicator=told["applicator"],
    )

    assert findings[0].severity == "refusal"


def test_what_is_applied_is_not_held_back_for_the_truck_any_more(
    visits, told, crew, calibration, oil_lot, soap_lot, owner, monkeypatch
):
    dawn = datetime(2026, 7, 6, 9, tzinfo=UTC)
    monkeypatch.setattr("django.utils.timezone.now", lambda: dawn)
    dispatch_day(day=date(2026, 7, 6), visits=visits[:1], by=owner, now=dawn)

    complete_visit(visits[0], **told)

    assert reserved_amounts([soap_lot]) == {}


class Injected(RuntimeError):
    """The fault that a test puts between two statements."""


def test_a_fault_after_any_statement_leaves_nothing(visits, told):
    before = snapshot()

    for statements in count(1):
        if completed_with_fault_after(statements, visits[0], told):
            break
        assert snapshot() == before

    assert statements > 20
    assert ApplicationRecord.objects.count() == 1


def completed_with_fault_after(statements, visit, told):
    """Complete a visit with a fault injected after so many statements; say whether none came."""
    done = count(1)

    def inject(execute, sql, params, many, context):
        result = execute(sql, params, many, context)
        if next(done) == statements:
            raise Injected
        return result

    try:
        with transaction.atomic(), connection.execute_wrapper(inject):
            complete_visit(visit, **told)
    except Injected:
        return False
    return True


@pytest.mark.servers
@pytest.mark.django_db(transaction=True)
def test_of_two_crews_who_complete_at_once_one_is_told(visits, told, report):
    if connection.vendor != "postgresql":
        pytest.skip("threads share no database in memory")
    refused = []

    def complete_and_close(form):
        try:
            complete_visit(visits[0], **told | {"form_id": form})
        except ValidationError as error:
            refused.append(error.code)
        finally:
            connection.close()

    threads = [Thread(target=complete_and_close, args=(f,)) for f in (FORM, OTHER_FORM, FORM)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert ApplicationRecord.objects.count() == 1
    assert set(refused) == {"completed"}

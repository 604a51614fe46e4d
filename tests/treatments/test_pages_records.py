"""The register of application records, the page of one, and its amendments."""

from datetime import UTC, datetime
from decimal import Decimal
from uuid import uuid4

import pytest
import time_machine

from clients.access import Reach
from clients.models import Client, Planting, Property
from treatments.models import ApplicationRecord, Correction
from treatments.recording import record_application, void_application

NO_BREAK = "\u00a0"
IN_TIME = "2026-07-06T22:45:00Z"
REASON = "The tank held two gallons, not three."


@pytest.fixture
def record(stated):
    """A record of soap on the roses, kept the same evening."""
    with time_machine.travel(IN_TIME):
        return record_application(**stated)


@pytest.fixture
def late_record(stated):
    """The same, received two days later."""
    with time_machine.travel("2026-07-08T23:00:00Z"):
        return record_application(**stated)


def page_of(client, address):
    answer = client.get(address)
    assert answer.status_code == 200
    return answer.content.decode().replace(NO_BREAK, " ")


def amendment(record, **changes):
    """Return the form of a record as a browser sends it back, with changes."""
    return {
        "form_id": str(uuid4()),
        "reason": REASON,
        "started_at": "2026-07-06T18:00",
        "done_at": "2026-07-06T18:40",
        "product": record.product_id,
        "lot": record.lot_id,
        "pest": record.pest_id,
        "applicator": record.applicator_id,
        "rate": "3.000",
        "rate_basis": "fl oz/gal",
        "product_amount": "9.000",
        "mix_gallons": "3.000",
        "treated_area_sq_ft": "600.0",
        "plants": "40",
        **changes,
    }


def test_a_stranger_is_asked_to_sign_in(client, record):
    assert client.get("/records/").status_code == 302
    assert client.get("/records/1/").status_code == 302


def test_an_empty_register_says_what_will_stand_there(client, owner):
    client.force_login(owner)

    assert "The first line comes when a crew keeps a visit." in page_of(client, "/records/")


def test_the_register_shows_when_what_and_who(client, inspector, grant, record):
    client.force_login(inspector)

    page = page_of(client, "/records/")

    assert "Jul 6, 2026" in page
    assert "18:40 EDT" in page
    assert "9 fl oz" in page
    assert "A. Holder" in page
    assert "written in time" in page


def test_a_record_received_after_its_time_is_late(client, owner, late_record):
    # [PA-128-35] within 24 hours
    client.force_login(owner)

    assert '<span class="late">late</span>' in page_of(client, "/records/")


def test_a_record_that_lacks_a_field_is_due_until_its_time_is_over(client, owner, stated):
    stated["planting"].property.client.phone = ""
    Client.objects.update(street="", city="", region="", postal_code="")
    stated["planting"] = Planting.objects.get()
    with time_machine.travel(IN_TIME):
        record_application(**stated)
        client.force_login(owner)
        assert "due, not complete" in page_of(client, "/records/")

    with time_machine.travel("2026-07-07T22:41:00Z"):
        client.force_login(owner)
        assert "late, not complete" in page_of(client, "/records/")


def test_a_technician_reads_the_records_within_reach(
    client, technician, record, rose_bed, monkeypatch
):
    client.force_login(technician)
    assert client.get("/records/1/").status_code == 404

    monkeypatch.setattr(Reach, "properties_of", lambda user: [rose_bed.property_id])

    assert client.get("/records/1/").status_code == 200


@pytest.mark.parametrize(
    ("query", "is_found"),
    [
        ({"words": "reading"}, True),
        ({"words": "rose bed"}, True),
        ({"words": "elsewhere"}, False),
        ({"lot": "s-1"}, True),
        ({"lot": "S-2"}, False),
        ({"jurisdiction": "US-PA"}, True),
        ({"first": "2026-07-06", "last": "2026-07-06"}, True),
        ({"first": "2026-07-07"}, False),
        ({"last": "2026-07-05"}, False),
    ],
)
def test_the_register_is_sifted(client, owner, record, query, is_found):
    client.force_login(owner)

    page = client.get("/records/", query).content.decode()

    assert ("No record fits all of that." in page) != is_found


def test_days_are_those_of_the_place(client, owner, stated):
    # 03:30 UTC of the 7th is still the evening of the 6th in Pennsylvania
    stated |= {"done_at": datetime(2026, 7, 7, 3, 30, tzinfo=UTC)}
    stated["captured_at"] = stated["done_at"]
    record_application(**stated)
    client.force_login(owner)

    page = page_of(client, "/records/?first=2026-07-06&last=2026-07-06")

    assert "Jul 6, 2026" in page


def test_many_records_ask_as_often_as_one(client, owner, stated, record, count_queries):
    client.force_login(owner)
    once = count_queries("/records/")
    for minute in range(3):
        stated["captured_at"] = datetime(2026, 7, 6, 22, 46 + minute, tzinfo=UTC)
        record_application(**stated)

    assert count_queries("/records/") == once


def test_a_record_reads_like_a_form_filled_in(client, inspector, grant, record):
    client.force_login(inspector)

    page = page_of(client, "/records/1/")

    assert "EPA registration number" in page
    assert "asked by PA" in page
    assert "not applicable" in page
    assert "7 Pa. Code 128.35" in page


def test_a_sign_that_was_put_up_is_not_called_inapplicable(client, owner, stated):
    record_application(**stated | {"posted_at": stated["done_at"]})
    client.force_login(owner)

    page = page_of(client, "/records/1/")

    assert "a sign was put up" in page


def test_a_place_without_verified_rules_says_so(client, owner, stated):
    Property.objects.update(jurisdiction="US-NV")
    stated["planting"] = Planting.objects.get()
    record_application(**stated)
    client.force_login(owner)

    assert "The record rules of Nevada were not read" in page_of(client, "/records/1/")


def test_an_amendment_stands_under_the_record_with_before_and_after(client, applicator, record):
    client.force_login(applicator.user)

    answer = client.post("/records/1/amend/", amendment(record, mix_gallons="2"))

    assert answer["Location"] == "/records/2/"
    page = page_of(client, "/records/1/")
    assert "record 2 stands in its place" in page
    assert REASON in page
    assert "<td>3 gal</td>" in page
    assert "<td>2 gal</td>" in page


def test_only_what_was_changed_is_amended(client, applicator, record):
    client.force_login(applicator.user)

    client.post("/records/1/amend/", amendment(record, mix_gallons="2"))

    second = ApplicationRecord.objects.get(number=2)
    assert second.mix_gallons == Decimal(2)
    assert second.started_at == record.started_at
    assert second.product_amount == record.product_amount


def test_an_amendment_sent_twice_is_kept_once(client, applicator, record):
    client.force_login(applicator.user)
    form = amendment(record, mix_gallons="2")

    client.post("/records/1/amend/", form)
    again = client.post("/records/1/amend/", form)

    assert again["Location"] == "/records/2/"
    assert ApplicationRecord.objects.count() == 2


def test_a_short_reason_is_refused_and_what_was_typed_stays(client, applicator, record):
    client.force_login(applicator.user)

    answer = client.post("/records/1/amend/", amendment(record, mix_gallons="2.5", reason="oops"))

    assert answer.status_code == 422
    assert 'value="2.5"' in answer.content.decode()
    assert ApplicationRecord.objects.count() == 1


def test_an_amendment_that_changes_nothing_is_refused(client, applicator, record):
    client.force_login(applicator.user)

    answer = client.post("/records/1/amend/", amendment(record))

    assert answer.status_code == 422
    assert "Nothing is changed by this amendment." in answer.content.decode()


def test_what_the_office_corrects_waits_for_somebody_certified(
    client, dispatcher, applicator, record
):
    client.force_login(dispatcher)

    asked = client.post("/records/1/amend/", amendment(record, mix_gallons="2"), follow=True)

    assert "waits for approval" in asked.content.decode()
    assert ApplicationRecord.objects.count() == 1
    client.force_login(applicator.user)
    assert "Agree to it" in page_of(client, "/corrections/")
    client.post(f"/corrections/{Correction.objects.get().pk}/agree/")
    second = ApplicationRecord.objects.get(number=2)
    assert (second.recorded_by, second.approved_by) == (dispatcher, applicator.user)
    assert "Approved by applicator" in page_of(client, "/records/1/")


def test_a_technician_asks_to_correct_what_he_wrote(client, technician, stated, monkeypatch):
    record = record_application(**stated | {"recorded_by": technician})
    monkeypatch.setattr(Reach, "properties_of", lambda user: [record.planting.property_id])
    client.force_login(technician)

    client.post("/records/1/amend/", amendment(record, mix_gallons="2"))

    assert Correction.objects.get().asked_by == technician


@pytest.mark.parametrize("who", ["technician", "inspector"])
def test_others_do_not_amend(client, request, record, who, monkeypatch):
    monkeypatch.setattr(Reach, "properties_of", lambda user: [record.planting.property_id])
    client.force_login(request.getfixturevalue(who))

    assert client.get("/records/1/amend/").status_code == 403


def test_a_record_is_void_once_the_owner_and_somebody_certified_want_it(
    client, owner, dispatcher, applicator, record
):
    client.force_login(dispatcher)
    assert client.post("/records/1/void/", {"reason": REASON}).status_code == 403
    client.force_login(owner)
    client.post("/records/1/void/", {"reason": REASON, "form_id": str(uuid4())})
    assert ApplicationRecord.objects.count() == 1
    asked = Correction.objects.get()
    client.post(f"/corrections/{asked.pk}/agree/")  # who asked does not agree
    assert ApplicationRecord.objects.count() == 1

    client.force_login(applicator.user)
    client.post(f"/corrections/{asked.pk}/agree/")

    assert ApplicationRecord.objects.get(number=2).void
    assert "void" in page_of(client, "/records/2/")


def test_a_declined_correction_leaves_the_record_as_it_is(client, owner, applicator, record):
    client.force_login(owner)
    client.post("/records/1/void/", {"reason": REASON, "form_id": str(uuid4())})
    client.force_login(applicator.user)

    client.post(f"/corrections/{Correction.objects.get().pk}/decline/", {"note": "It was sprayed."})

    assert ApplicationRecord.objects.count() == 1
    assert "waits for approval" not in page_of(client, "/records/1/")


def test_a_void_record_is_not_declared_void_again(client, owner, applicator, record):
    void_application(record, reason=REASON, by=owner, approved_by=applicator.user)
    client.force_login(owner)

    answer = client.post("/records/2/void/", {"reason": REASON, "form_id": str(uuid4())})

    assert answer.status_code == 422

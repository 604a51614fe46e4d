"""A correction from the phone: at once by who corrects alone, else by way of the office."""

from datetime import date

import pytest

from tests.services.field.conftest import codes
from treatments.models import ApplicationRecord


def changed(event, **changes):
    """Return the body that corrects an event."""
    return {"event": event["event_id"], "reason": "The meter was read again.", "changes": changes}


def test_who_corrects_alone_amends_at_once_from_the_phone(
    second_phone, completes, complete_body, applicator
):
    event = completes(second_phone)
    (first,) = second_phone.say(event)
    reports = [complete_body["reports"][0] | {"product_amount": "8"}]
    air = complete_body["conditions"] | {"wind_mph": "7"}
    correction = second_phone.event("amend", body=changed(event, reports=reports, conditions=air))

    (reply,) = second_phone.say(correction)
    (again,) = second_phone.say(correction)

    record = ApplicationRecord.objects.get(number=reply["records"][0]["number"])
    assert record.amends.number == first["records"][0]["number"]
    assert (record.product_amount, record.wind_mph, record.recorded_by) == (8, 7, applicator.user)
    assert record.mix_gallons == record.amends.mix_gallons
    assert record.amendment_reason == "The meter was read again."
    assert again["records"] == reply["records"]
    assert ApplicationRecord.objects.count() == 2


@pytest.mark.parametrize("changes", [{"note": "South side."}, {"reports": []}])
def test_what_is_more_than_other_values_waits_for_the_office(second_phone, completes, changes):
    event = completes(second_phone)
    second_phone.say(event)

    (reply,) = second_phone.say(second_phone.event("amend", body=changed(event, **changes)))

    assert codes(reply) == ["correction"]
    assert ApplicationRecord.objects.count() == 1


def test_a_second_correction_of_a_record_waits_for_the_office(second_phone, completes):
    event = completes(second_phone)
    second_phone.say(event)
    for ended in ("2026-07-13T15:42:00-04:00", "2026-07-13T15:43:00-04:00"):
        body = changed(event, done_at=ended)
        (reply,) = second_phone.say(second_phone.event("amend", body=body))

    assert "correction" in codes(reply)
    assert ApplicationRecord.objects.count() == 2


def test_who_holds_no_certificate_that_counts_there_waits_for_the_office(
    second_phone, completes, applicator
):
    event = completes(second_phone)
    second_phone.say(event)
    applicator.certificates.update(expires_on=date(2026, 7, 12))
    body = changed(event, done_at="2026-07-13T15:42:00-04:00")

    (reply,) = second_phone.say(second_phone.event("amend", body=body))

    assert "correction" in codes(reply)
    assert ApplicationRecord.objects.count() == 1


def test_who_corrects_alone_adds_what_only_some_places_ask_for(
    second_phone, completes, complete_body
):
    # [OR-634-146] asks who sold the product
    event = completes(second_phone)
    second_phone.say(event)
    reports = [complete_body["reports"][0] | {"supplier_name": "Ferry Seed and Feed"}]

    (reply,) = second_phone.say(second_phone.event("amend", body=changed(event, reports=reports)))

    record = ApplicationRecord.objects.get(number=reply["records"][0]["number"])
    assert (record.supplier_name, record.amends.supplier_name) == ("Ferry Seed and Feed", "")

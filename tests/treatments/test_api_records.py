"""Application records through the API: read, sifted and amended, never changed."""

from uuid import uuid4

import pytest

from clients.access import Reach
from treatments.models import ApplicationRecord
from treatments.recording import record_application

REASON = "The tank held two gallons, not three."


@pytest.fixture
def record(stated):
    """A record of soap on the roses, by the applicator."""
    return record_application(**stated)


def test_a_record_is_read_by_its_number(api, inspector, grant, record):
    api.force_authenticate(inspector)

    answer = api.get("/api/v1/records/1/")

    assert answer.data["epa_registration_number"] == "0-101"
    # [PA-128-35] within 24 hours of 18:40 by the clock of the place
    assert answer.data["due_at"] == "2026-07-07T18:40:00-04:00"
    assert answer.data["missing"] == []


def test_a_technician_reads_the_records_within_reach(
    api, technician, record, rose_bed, monkeypatch
):
    api.force_authenticate(technician)
    assert api.get("/api/v1/records/1/").status_code == 404

    monkeypatch.setattr(Reach, "properties_of", lambda user: [rose_bed.property_id])

    assert api.get("/api/v1/records/1/").status_code == 200


@pytest.mark.parametrize(("lot", "found"), [("S-1", 1), ("S-2", 0)])
def test_records_are_sifted(api, owner, record, lot, found):
    api.force_authenticate(owner)

    assert api.get("/api/v1/records/", {"lot": lot}).data["count"] == found


@pytest.mark.parametrize("method", ["put", "patch", "delete"])
def test_a_record_is_not_changed(api, owner, record, method):
    api.force_authenticate(owner)

    assert getattr(api, method)("/api/v1/records/1/", {}).status_code == 405


def test_a_record_is_not_made_without_a_visit(api, owner, record):
    api.force_authenticate(owner)

    assert api.post("/api/v1/records/", {}).status_code == 405


def test_an_amendment_is_a_second_record(api, applicator, record):
    api.force_authenticate(applicator.user)

    answer = api.post("/api/v1/records/1/amend/", {"reason": REASON, "mix_gallons": "2"})

    assert answer.status_code == 201
    assert (answer.data["number"], answer.data["amends"]) == (2, 1)
    assert api.get("/api/v1/records/1/").data["amended_by"] == 2


def test_an_amendment_sent_twice_is_kept_once(api, applicator, record):
    api.force_authenticate(applicator.user)
    told = {"reason": REASON, "mix_gallons": "2", "event_id": str(uuid4())}

    api.post("/api/v1/records/1/amend/", told)
    again = api.post("/api/v1/records/1/amend/", told)

    assert again.data["number"] == 2
    assert ApplicationRecord.objects.count() == 2


def test_what_the_office_asks_waits_for_somebody_certified(api, dispatcher, applicator, record):
    api.force_authenticate(dispatcher)

    asked = api.post("/api/v1/records/1/amend/", {"reason": REASON, "mix_gallons": "2"})

    assert (asked.status_code, asked.data["agreed"]) == (202, None)
    assert ApplicationRecord.objects.count() == 1
    assert api.post(f"/api/v1/corrections/{asked.data['id']}/agree/").status_code == 403
    api.force_authenticate(applicator.user)
    kept = api.post(f"/api/v1/corrections/{asked.data['id']}/agree/")
    assert (kept.status_code, kept.data["approved_by"]) == (201, applicator.user.pk)


def test_a_declined_correction_changes_nothing(api, dispatcher, applicator, record):
    api.force_authenticate(dispatcher)
    asked = api.post("/api/v1/records/1/amend/", {"reason": REASON, "mix_gallons": "2"})
    api.force_authenticate(applicator.user)

    answer = api.post(f"/api/v1/corrections/{asked.data['id']}/decline/", {"note": "It was three."})

    assert (answer.status_code, answer.data["agreed"]) == (200, False)
    assert ApplicationRecord.objects.count() == 1


@pytest.mark.parametrize(
    "told", [{"reason": "oops", "mix_gallons": "2"}, {"reason": REASON}, {"mix_gallons": "2"}]
)
def test_an_amendment_needs_a_reason_and_a_change(api, applicator, record, told):
    api.force_authenticate(applicator.user)

    assert api.post("/api/v1/records/1/amend/", told).status_code == 400
    assert ApplicationRecord.objects.count() == 1


@pytest.mark.parametrize("who", ["inspector", "technician"])
def test_others_do_not_amend(api, request, record, who):
    api.force_authenticate(request.getfixturevalue(who))

    answer = api.post("/api/v1/records/1/amend/", {"reason": REASON, "mix_gallons": "2"})

    assert answer.status_code in (403, 404)


def test_many_records_ask_as_often_as_one(api, owner, stated, django_assert_max_num_queries):
    api.force_authenticate(owner)
    for _number in range(3):
        record_application(**stated)

    with django_assert_max_num_queries(5):  # role, first place, no other, count, records
        assert api.get("/api/v1/records/").data["count"] == 3


def test_the_schema_of_the_api_is_valid(api, owner):
    api.force_authenticate(owner)

    answer = api.get("/api/schema/", headers={"Accept": "application/json"})

    assert "/api/v1/records/{number}/amend/" in answer.content.decode()

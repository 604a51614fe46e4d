"""Visits through the API: read by those who may, moved under their version, reported once."""

from datetime import UTC, datetime, timedelta
from uuid import uuid4

import pytest
import time_machine

from services.field.reviewing import decisions_for
from services.models import FieldEvent, Outbox, Reply, Visit
from treatments.models import ApplicationRecord

NOW = datetime(2026, 7, 13, 20, tzinfo=UTC)


@pytest.fixture(autouse=True)
def that_afternoon():
    """Stop the clock on the afternoon of the second visit."""
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def report(rose_bed, oil_lot, applicator):
    """What a crew reports of the second visit."""
    return {
        "started_at": "2026-07-13T15:00:00-04:00",
        "done_at": "2026-07-13T15:40:00-04:00",
        "applicator": applicator.pk,
        "conditions": {"wind_mph": "4", "wind_direction": "SW", "temperature_f": "72"},
        "note": "Webs on the north side.",
        "reports": [
            {
                "planting": rose_bed.pk,
                "lot": oil_lot.pk,
                "product_amount": "7.5",
                "mix_gallons": "3",
            }
        ],
    }


def path_of(visit, action=""):
    return f"/api/v1/visits/{visit.pk}/" + (f"{action}/" if action else "")


def completed(api, visit, report, key="a-key"):
    return api.post(path_of(visit, "complete"), report, headers={"Idempotency-Key": key})


def test_a_technician_reads_the_visits_of_the_own_crew(api, technician, dispatched, visits):
    api.force_authenticate(technician)

    answer = api.get("/api/v1/visits/")

    assert [row["id"] for row in answer.data["results"]] == [dispatched.pk]


def test_a_visit_comes_with_its_week_product_and_etag(api, owner, dispatched, oil, rose_bed):
    api.force_authenticate(owner)

    answer = api.get(path_of(dispatched))

    assert answer["ETag"] == f'"v{dispatched.version}"'
    assert answer.data["product"] == oil.pk
    assert answer.data["plantings"] == [rose_bed.pk]
    assert (answer.data["week"], answer.data["state"]) == (2, "NEEDS-ACTION")


def test_visits_are_listed_between_days(api, owner, visits):
    api.force_authenticate(owner)

    answer = api.get("/api/v1/visits/", {"first": "2026-07-07", "last": "2026-07-13"})

    assert [row["id"] for row in answer.data["results"]] == [visits[1].pk]


def test_many_visits_ask_as_often_as_one(
    api, owner, visits, second_course, django_assert_max_num_queries
):
    api.force_authenticate(owner)

    with django_assert_max_num_queries(8):
        assert api.get("/api/v1/visits/").data["count"] == 6


ACTIONS = ["move", "check", "start", "complete", "hold", "lift"]


@pytest.mark.parametrize("action", ACTIONS)
def test_a_stranger_is_refused(api, visits, action):
    assert api.post(path_of(visits[0], action), {}).status_code == 401


@pytest.mark.parametrize("action", ACTIONS)
def test_an_inspector_is_refused(api, inspector, visits, action):
    api.force_authenticate(inspector)

    assert api.post(path_of(visits[0], action), {}).status_code == 403


@pytest.mark.parametrize("action", ["check", "start", "hold"])
def test_another_crews_visit_is_not_there(api, technician, visits, action):
    api.force_authenticate(technician)

    assert api.post(path_of(visits[0], action), {}).status_code == 404


@pytest.mark.parametrize("action", ["move", "lift"])
def test_a_technician_neither_moves_nor_lifts(api, technician, dispatched, action):
    api.force_authenticate(technician)

    assert api.post(path_of(dispatched, action), {}).status_code == 403


def test_a_visit_moves_under_the_version_that_was_read(api, dispatcher, visits):
    api.force_authenticate(dispatcher)
    etag = api.get(path_of(visits[1]))["ETag"]

    answer = api.post(path_of(visits[1], "move"), {"day": "2026-07-14"}, headers={"If-Match": etag})

    assert answer.status_code == 200
    assert answer.data["planned"] == "2026-07-14"
    assert answer["ETag"] != etag


@pytest.mark.parametrize(("etag", "status"), [(None, 428), ('"v99"', 412), ("old", 412)])
def test_without_the_version_nothing_moves(api, dispatcher, visits, etag, status):
    api.force_authenticate(dispatcher)
    headers = {"If-Match": etag} if etag else {}

    answer = api.post(path_of(visits[1], "move"), {"day": "2026-07-14"}, headers=headers)

    assert answer.status_code == status
    visits[1].refresh_from_db()
    assert visits[1].planned.isoformat() == "2026-07-13"


@pytest.mark.parametrize("day", ["2026-08-30", "soon", ""])
def test_a_day_outside_or_no_day_is_refused(api, dispatcher, visits, day):
    api.force_authenticate(dispatcher)
    etag = api.get(path_of(visits[1]))["ETag"]

    answer = api.post(path_of(visits[1], "move"), {"day": day}, headers={"If-Match": etag})

    assert answer.status_code == 400
    assert answer["Content-Type"] == "application/problem+json"


def test_the_air_is_checked_against_the_label(api, technician, dispatched, oil):
    oil.wind_maximum_mph = 10
    oil.save()
    api.force_authenticate(technician)

    calm, windy = (
        api.post(path_of(dispatched, "check"), {"conditions": {"wind_mph": wind}})
        for wind in ("10", "10.1")
    )

    assert calm.data["may_spray"]
    assert not windy.data["may_spray"]
    assert windy.data["findings"][0]["sentence"] == "Wind 10.1 mph is above the label's 10: hold."


def test_amounts_and_people_are_checked_as_well(api, technician, dispatched, report, learner):
    learner.supervisor = None
    learner.save()
    asked = {"conditions": report["conditions"], "reports": report["reports"]}
    api.force_authenticate(technician)

    answer = api.post(path_of(dispatched, "check"), asked | {"applicator": learner.pk})

    assert not answer.data["may_spray"]
    assert not ApplicationRecord.objects.exists()


def test_a_visit_is_begun_once(api, technician, dispatched):
    api.force_authenticate(technician)

    first, second = (api.post(path_of(dispatched, "start")) for _time in range(2))

    assert first.data["state"] == second.data["state"] == "IN-PROCESS"
    assert first.data["version"] == second.data["version"]


def test_a_report_completes_the_visit(api, technician, dispatched, report):
    api.force_authenticate(technician)

    answer = completed(api, dispatched, report)

    record = dispatched.records.get()
    assert answer.status_code == 201
    assert answer.data["records"] == [record.number]
    assert answer.data["state"] == "COMPLETED"
    assert record.done_at == datetime(2026, 7, 13, 19, 40, tzinfo=UTC)
    assert record.wind_mph == 4
    assert record.recorded_by == technician


def test_the_same_key_again_gets_the_same_reply(api, technician, dispatched, report):
    api.force_authenticate(technician)

    replies = [completed(api, dispatched, report) for _time in range(3)]

    assert [reply.status_code for reply in replies] == [201, 201, 201]
    assert replies[0].json() == replies[1].json() == replies[2].json()
    assert ApplicationRecord.objects.count() == 1
    assert Outbox.objects.filter(kind=Outbox.Kind.CLIENT_SUMMARY).count() == 1


def test_the_reply_is_the_same_a_year_later(api, technician, dispatched, report):
    api.force_authenticate(technician)
    first = completed(api, dispatched, report)

    with time_machine.travel(NOW + timedelta(days=400), tick=False):
        again = completed(api, dispatched, report)

    assert again.json() == first.json()
    assert ApplicationRecord.objects.count() == 1


def test_the_same_key_for_something_else_is_refused(api, technician, dispatched, report):
    api.force_authenticate(technician)
    completed(api, dispatched, report)

    answer = completed(api, dispatched, report | {"note": "Another note."})

    assert answer.status_code == 422
    assert ApplicationRecord.objects.count() == 1


@pytest.mark.parametrize("key", ["", "x" * 256])
def test_without_a_key_nothing_is_kept(api, technician, dispatched, report, key):
    api.force_authenticate(technician)

    assert completed(api, dispatched, report, key).status_code == 400
    assert not ApplicationRecord.objects.exists()


def test_a_key_belongs_to_its_sender(api, technician, owner, dispatched, report):
    api.force_authenticate(technician)
    completed(api, dispatched, report)
    api.force_authenticate(owner)

    answer = completed(api, dispatched, report)

    assert answer.status_code == 201
    assert "completed this visit" in answer.data["first"]


def test_a_second_report_is_kept_beside_the_first_and_goes_to_review(
    api, technician, owner, dispatched, report
):
    api.force_authenticate(technician)
    first = completed(api, dispatched, report)
    api.force_authenticate(owner)

    answers = [completed(api, dispatched, report) for _ in range(2)]

    assert first.data["first"] == ""
    assert answers[0].data == answers[1].data
    _one, two = ApplicationRecord.objects.order_by("number")
    assert answers[0].data["records"] == [two.number]
    assert "second-report" in [flag["code"] for flag in two.flags]
    (waiting,) = FieldEvent.objects.to_review()
    assert (waiting.person, waiting.device) == (owner, None)
    assert list(waiting.records.all()) == [two]
    assert "both" in decisions_for(waiting)


def test_what_was_refused_leaves_the_key_free(api, technician, dispatched, report):
    api.force_authenticate(technician)
    wrong = report | {"reports": []}

    refused = completed(api, dispatched, wrong)
    kept = completed(api, dispatched, report)

    assert (refused.status_code, kept.status_code) == (400, 201)
    assert Reply.objects.count() == 1


def test_what_the_office_reports_is_marked_as_from_paper(api, dispatcher, dispatched, report):
    api.force_authenticate(dispatcher)

    completed(api, dispatched, report)

    assert dispatched.records.get().from_paper


@pytest.mark.parametrize(
    "change",
    [
        {"started_at": "2026-07-13T15:00:00"},  # without an offset
        {"done_at": "2026-07-13T14:00:00-04:00"},  # before it started
        {"applicator": 0},
        {"conditions": {"humidity_percent": "101"}},
        {"reports": [{"planting": 0}]},
        {"done_at": None},
    ],
)
def test_a_report_that_cannot_be_read_is_refused(api, technician, dispatched, report, change):
    api.force_authenticate(technician)

    answer = completed(api, dispatched, report | change, str(uuid4()))

    assert answer.status_code == 400
    assert not ApplicationRecord.objects.exists()


def test_a_visit_is_held_and_the_hold_lifted(api, technician, owner, dispatched):
    api.force_authenticate(technician)
    held = api.post(path_of(dispatched, "hold"), {"reason": "wind", "note": "gusts"})
    api.force_authenticate(owner)

    lifted = api.post(path_of(dispatched, "lift"))

    assert held.data["hold"] == "wind"
    assert lifted.data["hold"] == ""


def test_another_reason_is_named(api, owner, visits):
    api.force_authenticate(owner)

    answer = api.post(path_of(visits[0], "hold"), {"reason": "other"})

    assert answer.status_code == 400
    assert "Say which other reason it is." in str(answer.data)


def test_nothing_is_changed_or_removed_past_the_actions(api, owner, visits):
    api.force_authenticate(owner)

    for method in (api.put, api.patch, api.delete):
        assert method(path_of(visits[0]), {}).status_code == 405
    assert Visit.objects.count() == 3


def test_a_program_tells_what_only_the_place_asks_for(api, technician, dispatched, report):
    api.force_authenticate(technician)
    report["reports"][0] |= {"supplier_name": "Ferry Seed and Feed", "method": "backpack"}

    answer = completed(api, dispatched, report)

    record = ApplicationRecord.objects.get()
    assert answer.status_code == 201
    assert (record.supplier_name, record.method) == ("Ferry Seed and Feed", "backpack")

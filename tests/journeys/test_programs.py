"""What a program of the business does beside the main job, by its key and within its scopes."""

from datetime import timedelta

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.utils import timezone
from rest_framework.test import APIClient

from clients.access import Role
from clients.models import Client
from services.models import ClientLink, ContactAttempt, Device, FieldEvent, Planning, ProgramKey
from services.program_keys import make_key
from tests.book import paper_of
from treatments.models import (
    ApplicationRecord,
    Business,
    Correction,
    InspectorGrant,
    KeptPaper,
    LeftoverNote,
    OwnRuleSet,
    RuleChoice,
    SignTakenDown,
)

pytestmark = pytest.mark.django_db

ALL = ["read", "write:clients", "write:treatments", "write:services", "write:people", "remove"]
REASON = "The gloves were the long ones."


@pytest.fixture
def program(book):
    """Give a program that signs in as somebody, by default the owner with every scope."""

    def signed_in(role=Role.OWNER, scopes=ALL):
        now = timezone.now()
        told = {"name": "Accounts", "scopes": scopes, "expires_on": now.date()}
        key = make_key(book.people[role], **told, by=book.people[Role.OWNER], now=now)
        browser = APIClient()
        browser.credentials(HTTP_AUTHORIZATION=f"Bearer {key}")
        return browser

    return signed_in


def posted(program, path, told=None):
    return program.post(f"/api/v1/{path}/", told or {}, format="json")


@pytest.mark.parametrize(
    ("path", "told", "scope"),
    [
        ("removals", {"client": 1, "sure": True}, "remove"),
        ("records/dispose", {"records": [], "sure": True}, "remove"),
        ("papers/1/remove", {}, "remove"),
        ("people", {}, "write:people"),
        ("phones", {}, "write:people"),
        ("inspector-grants", {}, "write:people"),
    ],
)
def test_what_opens_or_ends_for_good_takes_a_scope_of_its_own(program, path, told, scope):
    others = [each for each in ALL if each != scope]

    answer = posted(program(scopes=others), path, told)

    assert answer.status_code == 403
    assert answer.json()["detail"] == f"This key has no scope {scope}."


def test_a_key_fetches_papers_where_people_do(program, things):
    answer = program().get(f"/records/{things['number']}/record.pdf")

    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"


@pytest.mark.parametrize(
    ("path", "method", "code"),
    [
        ("/people/", "get", 302),
        ("/records/records.pdf", "post", 405),
        ("/money/taxes/new/", "post", 403),
    ],
)
def test_a_key_opens_no_page_and_sends_nothing_there(program, path, method, code):
    answer = getattr(program(), method)(path)

    assert answer.status_code == code
    where = answer.get("Location", "").encode() + answer.content
    assert code == 405 or b"/accounts/login/" in where


def test_a_key_that_does_not_read_fetches_nothing(program, things):
    browser = program(scopes=["write:clients"])

    assert browser.get(f"/records/{things['number']}/record.pdf").status_code == 403


def test_a_key_that_was_taken_back_fetches_nothing(program, things):
    browser = program()
    ProgramKey.objects.update(revoked_at=timezone.now())

    answer = browser.get(f"/records/{things['number']}/record.pdf")

    assert answer.status_code == 401
    assert answer["WWW-Authenticate"] == "Bearer"


def test_a_role_holds_where_a_key_fetches(program, things):
    browser = program(Role.TECHNICIAN)

    assert browser.get(f"/statements/{things['statement_number']}/statement.pdf").status_code == 403


def test_a_client_s_link_is_made_shown_once_and_taken_back(program, things):
    browser = program(Role.OFFICE)
    made = posted(browser, "client-links", {"client": things["client_id"]}).json()

    opened = APIClient().get(made["address"].partition("//")[2].partition("/")[2].join(["/", ""]))
    shown = browser.get(f"/api/v1/client-links/{made['id']}/").json()
    posted(browser, f"client-links/{made['id']}/revoke")

    assert opened.status_code == 302
    assert "address" not in shown
    assert ClientLink.objects.get(pk=made["id"]).revoked_at is not None


def test_a_crew_s_calendar_is_made_and_taken_back(program, things):
    browser = program(Role.OFFICE)
    made = posted(browser, "crew-feeds", {"crew": things["crew_id"]}).json()
    path = "/feeds/" + made["events"].partition("/feeds/")[2]

    before = APIClient().get(path)
    posted(browser, f"crew-feeds/{made['id']}/revoke")

    assert before.status_code == 200
    assert APIClient().get(path).status_code == 404


def test_a_phone_gets_its_code_once(program, book):
    told = {"person": book.people[Role.TECHNICIAN].pk, "name": "Phone four"}

    made = posted(program(), "phones", told).json()

    assert len(made["code"]) >= 12
    assert posted(program(Role.OFFICE), "phones", told).status_code == 403
    posted(program(Role.OFFICE), f"phones/{made['id']}/revoke")
    assert Device.objects.get(pk=made["id"]).revoked_at is not None


def test_a_person_is_added_changed_and_let_go(program):
    browser = program()
    told = {"username": "nina", "first_name": "Nina", "last_name": "New", "role": "technician"}
    made = posted(browser, "people", told).json()

    posted(browser, f"people/{made['id']}/role", {"role": "office"})
    shown = posted(browser, f"people/{made['id']}/let-go").json()

    assert made["role"] == "technician"
    assert shown["role"] == "office"
    assert shown["is_active"] is False


def test_the_last_owner_stays(program, book):
    owner = book.people[Role.OWNER]

    answer = posted(program(), f"people/{owner.pk}/role", {"role": "office"})

    assert answer.status_code == 400


def test_somebody_was_tried_and_it_is_kept_once(program, things):
    browser = program(Role.OFFICE)
    readers = browser.get(f"/api/v1/notices/{things['later_id']}/").json()["readers"]
    told = {
        "person": readers[0]["person"],
        "at": timezone.now().isoformat(),
        "way": "telephone",
        "outcome": "told",
        "form_id": "00000000-0000-4000-8000-000000000001",
    }

    answers = [posted(browser, f"notices/{things['later_id']}/attempts", told) for _ in "12"]

    assert [answer.status_code for answer in answers] == [201, 201]
    assert ContactAttempt.objects.filter(form_id=told["form_id"]).count() == 1
    nobody = posted(browser, f"notices/{things['later_id']}/attempts", told | {"person": "x:1"})
    assert nobody.status_code == 400


def test_the_mails_of_a_visit_and_of_a_week_are_let_go(program, things):
    browser = program(Role.OFFICE)

    one = posted(browser, f"notices/{things['later_id']}/send")
    week = posted(browser, "notices/send-week", {"monday": "2026-07-22"})

    assert [one.status_code, week.status_code] == [200, 200]
    assert {row["kind"] for row in one.json()} == {"notice"}


def test_days_are_planned_anew_and_one_offer_becomes_the_plan(program):
    browser = program(Role.OFFICE)
    asked = {"what": "day", "first": "2026-07-14"}

    made = posted(browser, "plannings", asked).json()
    offer = made["offers"][0]["kind"]
    chosen = posted(browser, f"plannings/{made['id']}/choose", {"offer": offer})

    assert chosen.json()["chosen"] == offer, chosen.json()
    assert Planning.objects.get(pk=made["id"]).chosen == offer


def test_what_cannot_be_planned_anew_is_refused(program, things):
    browser, path = program(Role.OFFICE), f"plannings/{things['planning_id']}"

    assert posted(browser, "plannings", {"what": "crew", "first": "2026-07-14"}).status_code == 400
    assert posted(browser, f"{path}/choose", {"offer": "x"}).status_code == 400
    assert posted(browser, f"{path}/choose", {"offer": "free"}).status_code == 400
    assert posted(browser, f"{path}/stop").status_code == 200


def test_hours_of_the_air_are_entered(program, things):
    now = timezone.now().replace(minute=0)
    told = {
        "yard": things["yard_id"],
        "starts_at": (now + timedelta(hours=1)).isoformat(),
        "ends_at": (now + timedelta(hours=4)).isoformat(),
        "wind_mph": "7",
    }
    browser = program()

    made = posted(browser, "forecasts", told)

    assert len(made.json()) == 3
    assert browser.get("/api/v1/forecasts/").json()["count"] == 3
    assert posted(browser, "forecasts", {**told, "wind_mph": None}).status_code == 400


def test_a_report_of_a_phone_is_decided(program, things):
    told = {"decision": "seen", "reason": "Asked the crew: it stands."}

    answer = posted(program(), f"field-reports/{things['event_id']}/decide", told)

    assert answer.json()["decision"] == "seen"
    event = FieldEvent.objects.get(event_id=things["event_id"])
    assert event.decided_by is not None
    assert posted(program(), f"field-reports/{event.event_id}/complete").status_code == 400


def test_leftovers_are_noted_and_concentrate_goes_back_undiluted(program, things):
    told = {
        "kind": "mix",
        "product": things["product_id"],
        "gallons": "0.75",
        "done": "sprayed over",
        "note": "on the same bed",
        "happened_on": "2026-07-13",
    }
    browser = program(Role.APPLICATOR)

    made = posted(browser, "leftovers", told)
    diluted = posted(browser, "leftovers/concentrate", {"lot": things["lot_id"], "amount": "2"})
    back = posted(
        browser,
        "leftovers/concentrate",
        {"lot": things["lot_id"], "amount": "2", "is_undiluted": True},
    )

    assert made.status_code == 201
    assert LeftoverNote.objects.filter(gallons="0.75").exists()
    assert diluted.status_code == 400
    assert back.json()["amount"] == "2.000"


def test_a_paper_is_kept_read_and_removed(program, things):
    browser = program()
    sent = {"product": things["product_id"], "kind": "safety sheet", "version": "3"}
    file = SimpleUploadedFile("sheet.pdf", paper_of("An invented sheet"))

    made = browser.post("/api/v1/papers/", sent | {"file": file}, format="multipart").json()
    read = browser.get(f"/api/v1/papers/{made['id']}/file/")
    gone = posted(browser, f"papers/{made['id']}/remove")

    assert made["version"] == "3"
    assert b"".join(read).startswith(b"%PDF-")
    assert gone.status_code == 204
    assert not KeptPaper.objects.filter(pk=made["id"]).exists()


@pytest.mark.parametrize(
    ("role", "of", "kind", "status"),
    [
        (Role.OFFICE, "product", "label", 403),
        (Role.APPLICATOR, "product", "label", 201),
        (Role.APPLICATOR, "applicator", "training", 403),
        (Role.OFFICE, "applicator", "training", 201),
        (Role.OWNER, "applicator", "label", 400),
    ],
)
def test_who_keeps_which_paper(program, things, role, of, kind, status):
    file = SimpleUploadedFile("kept.pdf", paper_of("An invented paper"))
    sent = {of: things[f"{of}_id"], "kind": kind, "file": file}

    answer = program(role).post("/api/v1/papers/", sent, format="multipart")

    assert answer.status_code == status


def test_a_place_s_rules_are_compared_entered_and_chosen(program):
    browser = program()
    unsure = browser.get("/api/v1/rules/US-NJ/").json()["unsure"]
    compared = {"facts": unsure[:1], "compared_on": "2026-07-13", "compared_with": "the code"}
    own = {
        "name": "Our own for New Jersey",
        "citation": "of our own",
        "valid_from": "2026-07-13",
        "required_fields": ["applicator_name"],
    }

    after = posted(browser, "rules/US-NJ/confirm", compared).json()
    entered = posted(browser, "rules/US-NJ/own", own)
    chosen = posted(browser, "rules/US-NJ/choose", {"uses": "own", "holds_from": "2026-07-13"})

    assert set(after["unsure"]) == set(unsure) - {unsure[0]}
    assert entered.status_code == 201, entered.json()
    assert chosen.json()["is_own"] is True
    assert OwnRuleSet.objects.count() == RuleChoice.objects.count() == 1
    assert posted(browser, "rules/US-NJ/confirm", compared).status_code == 400


def test_a_copy_of_a_record_is_noted_once(program, things):
    told = {"records": [things["number"]], "given_on": "2026-07-13", "way": "hand"}

    counts = [posted(program(), "records/copies", told).json()["count"] for _ in "12"]

    assert counts == [1, 0]


def test_a_copy_of_a_record_goes_out_by_mail(program, things):
    answer = posted(program(), "copy-mails", {"record": things["number"]})

    assert answer.status_code == 202
    assert answer.json()["dedupe_key"] == f"copy:{things['number']}"
    assert posted(program(), "copy-mails", {"record": 999999}).status_code == 404


def test_a_record_is_asked_to_be_void_and_stands_until_somebody_agrees(program, book):
    number = book.foreign["number"]

    answer = posted(program(), f"records/{number}/void", {"reason": REASON})

    assert answer.status_code == 202
    assert Correction.objects.filter(record__number=number, void=True).exists()
    assert not ApplicationRecord.objects.get(number=number).void
    assert posted(program(), f"records/{number}/void", {"reason": "x"}).status_code == 400


def test_a_record_is_not_disposed_of_before_its_time(program, things):
    told = {"records": [things["number"]], "sure": True}

    assert posted(program(), "records/dispose", told).status_code == 400
    assert posted(program(), "records/dispose", told | {"sure": False}).status_code == 400
    assert program().get("/api/v1/records/past/").json() == []


def test_a_return_is_filed_once(program):
    told = {
        "jurisdiction": "US-NY",
        "day": "2025-05-01",
        "filed_on": "2026-01-20",
        "how": "by post",
    }

    answers = [posted(program(), "returns-filed", told) for _ in "12"]

    assert [answer.status_code for answer in answers] == [201, 201]
    assert answers[0].json() == answers[1].json()
    assert posted(program(), "returns-filed", told | {"jurisdiction": "US-ZZ"}).status_code == 400


def test_an_inspector_is_let_in_and_out(program, book):
    told = {
        "inspector": book.people[Role.INSPECTOR].pk,
        "purpose": "Department of Nowhere",
        "jurisdictions": ["US-NY"],
        "days": 3,
    }
    browser = program()

    made = posted(browser, "inspector-grants", told).json()
    posted(browser, f"inspector-grants/{made['id']}/end")

    assert InspectorGrant.objects.get(pk=made["id"]).ended_at is not None
    nobody = posted(browser, "inspector-grants", told | {"inspector": book.people[Role.OFFICE].pk})
    assert nobody.status_code == 400


def test_the_business_says_how_it_is_called(program):
    shown = posted(program(), "business", {"phone": "555-0100"}).json()

    assert shown["phone"] == Business.objects.get().phone == "555-0100"
    assert shown["name"]


def test_a_sign_is_taken_down_where_one_was_put_up(program, things):
    answer = posted(program(Role.TECHNICIAN), f"signs/{things['number']}/down")

    assert answer.status_code == 400
    assert not SignTakenDown.objects.exists()


def test_a_client_is_removed_once_nothing_is_to_be_made_there(program, things):
    told = {"client": things["client_id"], "sure": True}
    refused = posted(program(), "removals", told)
    idle = Client.objects.create(name="Idle Client", email="idle@example.org")

    removed = [posted(program(), "removals", told | {"client": idle.pk}) for _ in "12"]

    assert refused.status_code == 400
    assert [each.json()["is_new"] for each in removed] == [True, False]
    assert Client.objects.get(pk=idle.pk).email == ""


def test_a_step_without_a_spray_is_planned(program, things):
    told = {
        "planting": things["planting_id"],
        "pest": things["pest_id"],
        "step": "wash",
        "day": "2026-07-14",
    }

    answer = posted(program(Role.APPLICATOR), "courses/step", told)

    assert answer.status_code == 201, answer.json()
    assert len(answer.json()["visits"]) == 1


def test_what_readings_come_to_is_said_and_not_kept(program, things):
    # 78 seconds on the mean, 5.25 gallons on 1,000 square feet [PES-SPRAY-GUN]
    told = {
        "method": "timed 1,000 sq ft",
        "readings": {"seconds": ["77", "79", "78"], "caught_gallons": ["5.25"]},
    }

    answer = posted(program(Role.TECHNICIAN), "calibrations/work-out", told)

    assert answer.status_code == 200, answer.json()
    assert answer.json()["gallons_per_1000_sq_ft"] == "5.250"

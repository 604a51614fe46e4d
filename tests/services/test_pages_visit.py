"""The page of a visit: read, checked, begun, kept once, held; and papers under their names."""

from datetime import UTC, date, datetime, timedelta
from uuid import uuid4

import pytest
import time_machine
from django.urls import reverse

from services import dispatching
from services.holding import hold_visit
from services.models import Crew, Dispatch, Outbox, Technician, Visit
from treatments.models import ApplicationRecord
from treatments.recording import record_application

DUSK = datetime(2026, 7, 7, 0, 40, tzinfo=UTC)  # 20:40 in Pennsylvania


@pytest.fixture
def at_dusk():
    """Stop the clock at twenty to nine in the evening of Monday, 6 July 2026."""
    with time_machine.travel(DUSK, tick=False):
        yield


@pytest.fixture
def stop(visits, soap_lot, calibration, crew, owner, technician, soap, rose_bed):
    """The first visit on the route of the crew, to which the technician belongs as well."""
    soap.wind_maximum_mph = 10
    soap.save()
    now = datetime(2026, 7, 6, 14, tzinfo=UTC)
    with time_machine.travel(now, tick=False):
        dispatching.dispatch_day(day=visits[0].planned, visits=[visits[0]], by=owner, now=now)
    return Visit.objects.with_all_that_is_shown().get(pk=visits[0].pk)


@pytest.fixture
def typed(stop, rose_bed, soap_lot, sprayer, applicator):
    """What a crew types after an hour's work."""
    return {
        "form_id": str(uuid4()),
        "wind_mph": "4",
        "wind_direction": "SW",
        "temperature_f": "72",
        "day": "2026-07-06",
        "started": "20:00",
        "ended": "20:35",
        "lot": soap_lot.pk,
        f"amount_{rose_bed.pk}": "7.5",
        f"spray_{rose_bed.pk}": "3",
        "sprayer": sprayer.pk,
        "applicator": applicator.pk,
        "posted": "20:36",
        "note": "Webs on the north side.",
    }


def address(name, visit):
    return reverse(f"services:{name}", args=[visit.pk])


def shown(client, user, visit):
    client.force_login(user)
    return client.get(address("visit", visit))


def test_the_page_holds_all_that_is_read_before_spraying(
    client, technician, stop, library, at_dusk
):
    library.pets, library.gate_code = True, "4711"
    library.save()

    page = shown(client, technician, stop).content.decode()

    assert 'class="on-site"' in page
    for promised in [
        "2 Shelf Street",
        "Pets.",
        "Gate code 4711",
        "Rose bed",
        "0-101",
        "7.5 fl oz",
        "2.94 gal",
        "Rinse the measures",
        "long-sleeved shirt",
        "label: at most 10 mph",
        "Keep people and pets out for 12 hours",
        "The label is the law",
    ]:
        assert promised in page


def test_the_lot_that_expires_first_is_chosen_already(client, technician, stop, soap_lot, at_dusk):
    page = shown(client, technician, stop).content.decode()

    assert f'<option value="{soap_lot.pk}" selected>' in page


def test_the_gate_code_is_shown_on_the_day_only(client, technician, stop, library):
    library.gate_code = "4711"
    library.save()
    with time_machine.travel(DUSK - timedelta(days=1), tick=False):
        page = shown(client, technician, stop).content.decode()

    assert "4711" not in page
    assert "The gate code is shown on the day." in page


def test_a_visit_of_another_crew_is_not_there(client, technician, visits, at_dusk):
    assert shown(client, technician, visits[1]).status_code == 404


@pytest.mark.parametrize(
    "name", ["visit", "check_visit", "start_visit", "complete_visit", "hold_here", "lift_here"]
)
def test_an_inspector_reads_records_only(client, inspector, stop, name):
    client.force_login(inspector)
    ask = client.get if name == "visit" else client.post

    assert ask(address(name, stop)).status_code == 403


def test_a_stranger_is_asked_to_sign_in(client, stop):
    assert client.get(address("visit", stop)).status_code == 302


def test_nothing_of_the_page_is_kept_by_a_cache(client, technician, stop, at_dusk):
    assert "no-store" in shown(client, technician, stop)["Cache-Control"]


@pytest.mark.parametrize(
    ("wind", "verdict"),
    [("10", "Think first"), ("10.1", "Hold: do not spray now."), ("6", "Nothing known stands")],
)
def test_the_verdict_follows_the_wind_limit_of_the_label(
    client, technician, stop, at_dusk, wind, verdict
):
    client.force_login(technician)
    air = {"wind_mph": wind, "temperature_f": "70", "humidity_percent": "50"}

    page = client.post(address("check_visit", stop), air).content.decode()

    assert verdict in page


def test_the_verdict_says_wind_and_limit_plainly(client, technician, stop, at_dusk):
    client.force_login(technician)

    answer = client.post(
        address("check_visit", stop), {"wind_mph": "13"}, headers={"HX-Request": "true"}
    )

    page = answer.content.decode()
    assert "Wind 13 mph is above the label&#x27;s 10: hold." in page
    assert "<html" not in page


def test_a_check_without_script_keeps_what_was_typed_and_finds_no_fault(
    client, technician, stop, typed, at_dusk
):
    client.force_login(technician)

    page = client.post(address("check_visit", stop), typed | {"ended": ""}).content.decode()

    assert "Webs on the north side." in page
    assert 'class="problem' not in page
    assert not ApplicationRecord.objects.exists()


def test_a_visit_is_begun_with_what_was_typed_so_far(client, technician, stop, typed, at_dusk):
    client.force_login(technician)

    page = client.post(address("start_visit", stop), typed).content.decode()

    stop.refresh_from_db()
    assert stop.state == Visit.State.IN_PROCESS
    assert "Webs on the north side." in page


def test_what_was_done_is_kept_with_its_record(
    client, technician, stop, typed, rose_bed, applicator, at_dusk
):
    client.force_login(technician)

    answer = client.post(address("complete_visit", stop), typed)

    record = stop.records.get()
    assert answer.status_code == 302
    assert (record.product_amount, record.mix_gallons) == (7.5, 3)
    assert record.started_at == datetime(2026, 7, 7, 0, 0, tzinfo=UTC)
    assert record.posted_at == datetime(2026, 7, 7, 0, 36, tzinfo=UTC)
    assert (record.wind_mph, record.wind_direction) == (4, "SW")
    assert record.applicator == applicator
    assert not record.from_paper


def test_afterwards_the_page_tells_what_was_kept_and_what_comes(
    client, technician, stop, typed, at_dusk
):
    client.force_login(technician)

    page = client.post(address("complete_visit", stop), typed, follow=True).content.decode()

    number = stop.records.get().number
    assert reverse("treatments:record", args=[number]) in page
    assert "Week 2 is planned for Monday, July 13, 2026" in page
    assert "The client&#x27;s summary is on its way." in page or "on its way" in page
    assert Outbox.objects.filter(kind=Outbox.Kind.CLIENT_SUMMARY).count() == 1


def test_the_same_form_twice_keeps_one_record(client, technician, stop, typed, at_dusk):
    client.force_login(technician)

    first = client.post(address("complete_visit", stop), typed)
    second = client.post(address("complete_visit", stop), typed)

    assert (first.status_code, second.status_code) == (302, 302)
    assert ApplicationRecord.objects.count() == 1


@pytest.mark.parametrize("paper", [{}, {"from_paper": "on"}])
def test_a_second_report_is_kept_beside_the_first_whose_author_is_named(
    client, technician, owner, stop, typed, paper, at_dusk
):
    client.force_login(technician)
    client.post(address("complete_visit", stop), typed)
    client.force_login(owner)
    told = typed | {"form_id": str(uuid4())} | paper

    answers = [client.post(address("complete_visit", stop), told, follow=True) for _ in range(2)]

    page = answers[0].content.decode()
    assert "technician completed this visit at 2026-07-06 20:35" in page
    assert "Kept beside it as record" in page
    second = ApplicationRecord.objects.latest("number")
    assert ApplicationRecord.objects.count() == 2
    assert second.from_paper is bool(paper)
    assert "second-report" in [flag["code"] for flag in second.flags]
    review = client.get("/review/").content.decode()
    assert f'<a href="/records/{second.number}/">{second.number}</a>' in review
    assert review.count("reported before, by another person") == 1


def test_two_of_a_crew_who_report_the_same_stop_both_keep_what_they_say(
    client, technician, applicator, stop, typed, at_dusk
):
    client.force_login(technician)
    client.post(address("complete_visit", stop), typed)
    client.force_login(applicator.user)

    answer = client.post(address("complete_visit", stop), typed | {"form_id": str(uuid4())})

    assert answer.status_code == 302
    assert ApplicationRecord.objects.count() == 2


@pytest.fixture
def two_beds(stop, rose_bed):
    """A second bed in the same visit."""
    second = type(rose_bed).objects.get(pk=rose_bed.pk)
    second.pk, second.name = None, "Far bed"
    second.save(force_insert=True)
    stop.course.plantings.add(second)
    return rose_bed, second


def test_a_planting_that_was_left_has_no_record_and_its_reason_is_flagged(
    client, owner, stop, typed, two_beds, at_dusk
):
    treated, left = two_beds
    client.force_login(owner)
    paper = typed | {"from_paper": "on", "left": left.pk, "why_left": "The dog was out."}

    answer = client.post(address("complete_visit", stop), paper)

    record = ApplicationRecord.objects.get()
    assert answer.status_code == 302
    assert (record.planting, record.from_paper) == (treated, True)
    (flag,) = [flag for flag in record.flags if flag["code"] == "treated-in-part"]
    assert (flag["facts"]["left"], flag["facts"]["why"]) == ("Far bed", "The dog was out.")
    stop.refresh_from_db()
    assert "The dog was out." in stop.note


def test_why_something_was_left_is_asked_and_not_everything_can_be(
    client, owner, stop, typed, two_beds, at_dusk
):
    client.force_login(owner)
    left = [bed.pk for bed in two_beds]

    page = client.post(address("complete_visit", stop), typed | {"left": left}).content.decode()

    assert "Say why it was left untreated." in page
    assert "hold the visit instead" in page
    assert not ApplicationRecord.objects.exists()


def test_what_was_typed_survives_an_error(client, technician, stop, typed, rose_bed, at_dusk):
    client.force_login(technician)

    wrong = typed | {f"amount_{rose_bed.pk}": "seven"}
    answer = client.post(address("complete_visit", stop), wrong)
    page = answer.content.decode()

    assert answer.status_code == 422
    assert 'value="seven"' in page
    assert "Webs on the north side." in page
    assert not ApplicationRecord.objects.exists()


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"ended": "19:59"}, "The work ended after it started."),
        ({"ended": "20:43"}, "That is later than now"),
        ({"applicator": ""}, "This field is required."),
        ({"wind_mph": "-1"}, "greater than or equal to 0"),
    ],
)
def test_odd_hours_and_gaps_are_asked_about(
    client, technician, stop, typed, at_dusk, change, sentence
):
    client.force_login(technician)

    answer = client.post(address("complete_visit", stop), typed | change)

    assert answer.status_code == 422
    assert sentence in answer.content.decode()


# [15USC260A] clocks in New York skip 2:00 to 3:00 on 8 March 2026 and show 1:00 to 2:00
# twice on 1 November 2026.
def test_an_hour_that_the_clocks_skip_is_refused(client, technician, stop, typed, at_dusk):
    client.force_login(technician)

    skipped = typed | {"day": "2026-03-08", "started": "02:30", "ended": "03:30"}
    answer = client.post(address("complete_visit", stop), skipped)

    assert answer.status_code == 422
    assert "the clocks skip 02:30" in answer.content.decode()


def test_an_hour_that_comes_twice_is_asked_about(client, technician, stop, typed):
    client.force_login(technician)
    twice = typed | {"day": "2026-11-01", "started": "01:10", "ended": "01:40", "posted": ""}

    with time_machine.travel(datetime(2026, 11, 1, 12, tzinfo=UTC), tick=False):
        client.force_login(technician)
        asked = client.post(address("complete_visit", stop), twice)
        kept = client.post(address("complete_visit", stop), twice | {"which_hour": "second"})

    assert asked.status_code == 422
    assert "Say whether the first is meant" in asked.content.decode()
    assert kept.status_code == 302
    assert stop.records.get().started_at == datetime(2026, 11, 1, 6, 10, tzinfo=UTC)


def test_the_office_enters_from_paper_and_it_is_marked(client, dispatcher, stop, typed, at_dusk):
    client.force_login(dispatcher)

    client.post(address("complete_visit", stop), typed | {"from_paper": "on"})

    assert stop.records.get().from_paper


def test_a_technician_is_not_asked_about_paper(client, technician, stop, at_dusk):
    assert "from_paper" not in shown(client, technician, stop).content.decode()


def test_an_uncertified_person_names_who_supervised(
    client, technician, stop, typed, learner, applicator, at_dusk
):
    client.force_login(technician)

    client.post(
        address("complete_visit", stop),
        typed | {"applicator": learner.pk, "supervisor": applicator.pk},
    )

    record = stop.records.get()
    assert record.uncertified_applicator_name == "L. Earner"
    assert record.supervisor_licence_number == "PA-0007"


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"expires_on": date(2026, 7, 1)}, "A. Holder for Pennsylvania expires on"),
        ({"categories": ["aquatic"]}, "needs the category"),
        ({"jurisdiction": "US-NY"}, "Nobody here holds a certificate of Pennsylvania"),
        ({"suspended_from": date(2026, 7, 1)}, "is suspended from"),
    ],
)
def test_before_spraying_the_page_says_what_is_wrong_with_a_certificate(
    client, technician, stop, typed, learner, applicator, at_dusk, changes, words
):
    # [40CFR171-101] a certificate counts by category, place and day
    applicator.certificates.update(**changes)
    client.force_login(technician)
    people = {"applicator": learner.pk, "supervisor": applicator.pk}

    page = client.post(address("check_visit", stop), typed | people).content.decode()

    assert words in page


def test_a_visit_without_a_spray_asks_for_no_product(client, technician, stop, visits, at_dusk):
    week = stop.rotation_week
    week.step, week.product, week.rate, week.basis = "wash", None, None, ""
    week.save()
    page = shown(client, technician, stop).content.decode()
    done = {"day": "2026-07-06", "started": "20:00", "ended": "20:30", "note": "Washed down."}

    answer = client.post(address("complete_visit", stop), done)

    stop.refresh_from_db()
    assert 'name="lot"' not in page
    assert "Nothing is sprayed at this stop." in page
    assert answer.status_code == 302
    assert (stop.state, stop.note) == (Visit.State.COMPLETED, "Washed down.")


def test_the_crew_holds_a_visit_under_way_with_its_reason(client, technician, stop, at_dusk):
    client.force_login(technician)
    Visit.objects.filter(pk=stop.pk).update(state=Visit.State.IN_PROCESS)
    why = {"hold-reason": "wind", "hold-note": "gusts"}

    page = client.post(address("hold_here", stop), why, follow=True).content.decode()

    assert "gusts" in page
    assert stop.holds.get().set_by == technician


def test_a_visit_held_before_it_began_leaves_the_crew_with_its_day(
    client, technician, stop, at_dusk
):
    client.force_login(technician)

    answer = client.post(address("hold_here", stop), {"hold-reason": "wind"})

    assert answer["Location"] == "/day/2026-07-06/"
    assert client.get(address("visit", stop)).status_code == 404


def test_another_reason_is_to_be_named_and_what_was_typed_stays(client, technician, stop, at_dusk):
    client.force_login(technician)

    answer = client.post(address("hold_here", stop), {"hold-reason": "other", "hold-note": ""})

    assert answer.status_code == 422
    assert "Say which other reason it is." in answer.content.decode()


@pytest.mark.parametrize(("who", "status"), [("owner", 302), ("dispatcher", 403)])
def test_only_owner_and_applicator_lift_a_hold(
    client, request, stop, owner, dispatcher, who, status, at_dusk
):
    hold = hold_visit(stop, reason="wind", by=owner, at=DUSK)
    client.force_login(request.getfixturevalue(who))

    assert client.post(address("lift_here", stop)).status_code == status
    hold.refresh_from_db()
    assert (hold.lifted_at is not None) == (status == 302)


def test_the_page_asks_as_often_for_two_plantings_as_for_one(
    client, technician, stop, course, rose_bed, at_dusk, count_queries
):
    client.force_login(technician)
    alone = count_queries(address("visit", stop))
    rose_bed.pk, rose_bed.name = None, "Second bed"
    rose_bed.save(force_insert=True)
    course.plantings.add(rose_bed)

    assert count_queries(address("visit", stop)) == alone


def route_of(stop):
    return Dispatch.objects.get(visits=stop)


def test_the_crews_paper_comes_as_a_pdf_under_its_name(client, technician, stop, at_dusk):
    client.force_login(technician)

    answer = client.get(reverse("services:visit_sheets", args=[route_of(stop).pk]))

    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == (
        'inline; filename="visit-sheets-2026-07-06-crew-one.pdf"'
    )
    assert "no-store" in answer["Cache-Control"]
    assert answer.content.startswith(b"%PDF")


def test_paper_of_another_crew_is_not_there(client, stop, yard, technician, at_dusk):
    others = Crew.objects.create(
        yard=yard, name="Crew two", shift_starts="07:00", shift_ends="17:00"
    )
    Technician.objects.filter(user=technician).update(crew=others)
    client.force_login(technician)

    assert client.get(reverse("services:visit_sheets", args=[route_of(stop).pk])).status_code == 404


@pytest.mark.parametrize("path", ["/day/2026-07-06/sheets.pdf", "/week/2026-W28/sheets.pdf"])
def test_a_day_and_a_week_are_one_paper(client, owner, stop, path, at_dusk):
    client.force_login(owner)

    assert client.get(path).content.startswith(b"%PDF")


def test_a_day_without_crews_has_no_paper(client, owner, stop):
    client.force_login(owner)

    assert client.get("/day/2026-07-07/sheets.pdf").status_code == 404


@pytest.fixture
def record(stated):
    return record_application(**stated)


@pytest.mark.usefixtures("grant")
def test_an_inspector_prints_a_record_and_a_selection(client, inspector, record):
    client.force_login(inspector)

    one = client.get(reverse("services:record_pdf", args=[record.number]))
    some = client.get(reverse("services:records_pdf"), {"first": "2026-07-06"})

    assert one["Content-Disposition"] == 'inline; filename="application-record-1.pdf"'
    assert some["Content-Disposition"] == 'inline; filename="application-records-1-to-1.pdf"'


def test_a_selection_without_records_has_no_paper(client, inspector, record):
    client.force_login(inspector)

    answer = client.get(reverse("services:records_pdf"), {"first": "2027-01-01"})

    assert answer.status_code == 404


def test_a_technician_prints_no_record_of_elsewhere(client, technician, record):
    client.force_login(technician)

    assert client.get(reverse("services:record_pdf", args=[record.number])).status_code == 404


def test_a_summary_is_printed_of_a_visit_that_was_made(client, technician, stop, typed, at_dusk):
    client.force_login(technician)
    path = reverse("services:summary_pdf", args=[stop.pk])
    before = client.get(path).status_code
    client.post(address("complete_visit", stop), typed)

    after = client.get(path)

    assert (before, after.status_code) == (404, 200)
    assert after["Content-Disposition"] == 'inline; filename="summary-2026-07-06-library.pdf"'


def test_an_inspector_sees_no_clients_letter(client, inspector, stop):
    client.force_login(inspector)

    assert client.get(reverse("services:summary_pdf", args=[stop.pk])).status_code == 403


def test_a_stop_asks_what_the_rules_of_its_place_ask(client, technician, stop, library, at_dusk):
    # [NJAC-7-30-7-3] asks for no wind; [MN-18B] for wind and temperature; [OR-634-146] for who sold
    def asked(jurisdiction):
        library.jurisdiction = jurisdiction
        library.save()
        return shown(client, technician, stop).content.decode()

    assert "asked by NJ" not in asked("US-NJ")
    assert "asked by MN" in asked("US-MN")
    assert asked("US-NJ").count("(may stay empty)") == asked("US-MN").count("(may stay empty)") + 3
    assert "ought from" not in asked("US-MN")
    assert "ought from" in asked("US-OR")


def test_what_only_this_place_asks_for_is_in_the_record(
    client, technician, stop, typed, library, at_dusk
):
    library.jurisdiction = "US-OR"
    library.save()
    client.force_login(technician)

    client.post(address("complete_visit", stop), typed | {"supplier_name": "Ferry Seed and Feed"})

    assert ApplicationRecord.objects.get().supplier_name == "Ferry Seed and Feed"

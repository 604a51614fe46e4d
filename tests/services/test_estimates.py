"""Estimates: priced by the rules, answered once by a link, put on where the rules allow."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from io import BytesIO
from uuid import UUID, uuid4

import pytest
import time_machine
from django.core.cache import cache
from django.core.exceptions import ValidationError
from django.db import DatabaseError, connection, transaction
from django.test import Client as Browser
from django.utils import translation
from pypdf import PdfReader

from clients.models import Client
from services.courses import end_course
from services.estimating import answer, begin, send_estimate, withdraw, write_estimate
from services.estimating.finding import found_on
from services.figures import figures_of
from services.models import (
    ClientLink,
    Course,
    Estimate,
    EstimateAnswer,
    Outbox,
    PriceRule,
    TaxRate,
    Visit,
)
from services.printing.estimates import estimate_pdf
from services.removing import remove_client
from services.telling import deliver, make_link
from treatments.models import JournalEntry, Lot, ScoutingCount

NOW = datetime(2026, 7, 6, 14, 0, tzinfo=UTC)
TODAY = date(2026, 7, 6)
JANUARY = date(2026, 1, 1)


@pytest.fixture(autouse=True)
def that_morning():
    """Stop the clock on a Monday morning, and forget who has asked how often."""
    cache.clear()
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def reader(reading_society):
    """The client, who has an address."""
    reading_society.email = "reader@example.org"
    reading_society.save()
    return reading_society


@pytest.fixture
def prices(db):
    """85 USD a visit; 6 % on everything."""
    PriceRule.objects.create(by="visit", amount=Decimal(85), from_day=JANUARY)
    told = {"name": "Tax of Nowhere", "jurisdiction": "US-PA", "falls_on": "both"}
    TaxRate.objects.create(percent=Decimal(6), from_day=JANUARY, **told)


@pytest.fixture
def counted(rose_bed, spider_mite):
    """Twelve of twenty leaves with mites, seven living ones a leaf."""
    return ScoutingCount.objects.create(
        planting=rose_bed,
        pest=spider_mite,
        scouted_at=NOW - timedelta(days=1),
        leaves_looked_at=20,
        leaves_infested=12,
        nymphs=100,
        adults=40,
    )


@pytest.fixture
def told(rotation, rose_bed, stock, crew, owner, business, reader):
    """What an estimate is written from."""
    return {
        "rotation": rotation,
        "plantings": [rose_bed],
        "first_day": TODAY + timedelta(days=1),
        "valid_until": TODAY + timedelta(days=30),
        "prices": {},
        "by": owner,
        "today": TODAY,
        "at": NOW,
    }


def write(told, **more):
    return write_estimate(**{**told, "form_id": uuid4(), **more})


@pytest.fixture
def estimate(told, prices, counted):
    """An estimate of three weeks at 85 USD each."""
    return write(told)


@pytest.fixture
def link(reader):
    """A link of the client."""
    make_link(reader, now=NOW)
    return ClientLink.objects.get()


def accept(estimate, link, **more):
    told = {
        "accepts": True,
        "link": link,
        "paper_sha256": estimate.sha256,
        "today": TODAY,
        "at": NOW,
    }
    return answer(estimate, **{**told, **more})


def text_of(pdf):
    return " ".join(page.extract_text() for page in PdfReader(BytesIO(pdf)).pages)


def test_an_estimate_says_what_was_found_what_is_proposed_and_its_price(estimate):
    text = " ".join(text_of(bytes(estimate.paper)).split())

    # Three weeks at 85 are 255, of which 6 % are 15.30
    assert (estimate.weeks_total, estimate.total) == (255, Decimal("270.30"))
    for said in (
        "12 of 20 leaves, 7.0 living ones a leaf",
        "Quiet Soap (potassium salts of fatty acids): knock down",
        "$85.00",
        "$270.30",
        "Valid until Wednesday, August 5, 2026",
        "the advice of a licensed applicator",
    ):
        assert said in text


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_same_estimate_gives_the_same_bytes(language, told, prices, counted, reader):
    reader.language = language
    reader.save()
    told["plantings"][0].property.client.language = language
    estimate = write(told)

    weeks, plantings = list(estimate.weeks.all()), list(estimate.plantings.all())
    again = Estimate.objects.select_related("property__client").get(pk=estimate.pk)
    assert estimate_pdf(again, weeks, plantings) == bytes(estimate.paper)


def test_the_same_form_writes_one_estimate(told, prices):
    form_id = UUID(int=4)

    assert write(told, form_id=form_id) == write(told, form_id=form_id)
    assert Estimate.objects.count() == 1


def test_a_price_that_was_agreed_stands_for_its_week(told, prices):
    estimate = write(told, prices={2: Decimal("60.00")})

    weeks = list(estimate.weeks.values_list("amount", "priced"))
    assert [amount for amount, _ in weeks] == [85, 60, 85]
    assert weeks[1][1] == "agreed price"


def test_area_and_product_are_reckoned_before_the_work(told, soap_lot, rose_bed):
    PriceRule.objects.create(by="area", amount=Decimal(50), from_day=JANUARY)
    # 600 sq ft at 50 USD a thousand
    assert write(told).weeks.first().amount == 30
    PriceRule.objects.create(
        by="product", amount=Decimal(50), from_day=JANUARY, property=rose_bed.property
    )
    Lot.objects.update(unit_cost=Decimal("0.20"))
    # 600 sq ft take 3 gallons with 2.5 fl oz each = 7.5 fl oz; 1.50 USD and half of it
    assert write(told).weeks.first().amount == Decimal("2.25")


def test_a_week_without_a_price_is_not_proposed(told):
    PriceRule.objects.create(by="hour", amount=Decimal(80), from_day=JANUARY)

    with pytest.raises(ValidationError, match="Week 1 has no price"):
        write(told)
    assert write(told, prices=dict.fromkeys((1, 2, 3), Decimal(90))).weeks_total == 270


def test_what_the_rules_refuse_is_not_proposed(told, prices, rotation):
    rotation.is_draft = True
    rotation.save()

    with pytest.raises(ValidationError, match="is a draft"):
        write(told)
    assert not Course.objects.exists()


def test_writing_puts_nothing_on(estimate):
    assert not Course.objects.exists()
    assert not Visit.objects.exists()


def test_an_accepted_estimate_becomes_the_course(estimate, link, rose_bed):
    kept = accept(estimate, link)

    estimate.refresh_from_db()
    assert list(estimate.course.plantings.all()) == [rose_bed]
    assert estimate.course.visits.count() == 3
    assert (kept.link, kept.at, kept.paper_sha256) == (link, NOW, estimate.sha256)
    body = JournalEntry.objects.latest("seq").body
    assert '"answer":"accepted"' in body
    assert estimate.sha256 in body


def test_the_first_answer_stands(estimate, link):
    first = accept(estimate, link)

    assert accept(estimate, link) == first
    with pytest.raises(ValidationError, match="is accepted"):
        accept(estimate, link, accepts=False)
    assert EstimateAnswer.objects.count() == Course.objects.count() == 1


def test_an_answer_is_neither_changed_nor_removed(estimate, link):
    accept(estimate, link)

    for change in (
        "UPDATE services_estimateanswer SET answer = 'declined'",
        "DELETE FROM services_estimateanswer",
    ):
        with pytest.raises(DatabaseError), transaction.atomic():
            connection.cursor().execute(change)


def test_a_declined_estimate_becomes_nothing(estimate, link):
    accept(estimate, link, accepts=False, words="too dear")

    assert not Course.objects.exists()
    with pytest.raises(ValidationError, match="not accepted"):
        begin(estimate, first_day=TODAY, by=None, today=TODAY, at=NOW)


@pytest.mark.parametrize(("days", "is_open"), [(30, True), (31, False)])
def test_an_estimate_is_valid_until_its_last_day(days, is_open, estimate, link):
    today = TODAY + timedelta(days=days)

    if is_open:
        assert accept(estimate, link, today=today).answer == "accepted"
    else:
        with pytest.raises(ValidationError, match="is expired"):
            accept(estimate, link, today=today)


def test_a_withdrawn_estimate_is_not_accepted(estimate, link):
    assert withdraw(estimate, at=NOW)
    assert not withdraw(estimate, at=NOW)

    with pytest.raises(ValidationError, match="is withdrawn"):
        accept(estimate, link)


def test_what_was_answered_is_not_withdrawn(estimate, link):
    accept(estimate, link)

    with pytest.raises(ValidationError, match="has answered"):
        withdraw(estimate, at=NOW)


def test_another_paper_than_the_one_read_is_not_accepted(estimate, link):
    with pytest.raises(ValidationError, match="Read the estimate again"):
        accept(estimate, link, paper_sha256="0" * 64)


def test_a_refusal_stops_it_and_is_shown_then_the_office_puts_it_on(
    estimate, link, rotation, client, owner
):
    rotation.is_draft = True
    rotation.save()
    accept(estimate, link)
    estimate.refresh_from_db()
    assert estimate.course is None
    client.force_login(owner)
    address = f"/estimates/{estimate.pk}/"
    assert "is a draft" in client.get(address).content.decode()
    day = {"first_day": estimate.first_day}
    refused = client.post(f"{address}begin/", day)
    assert (refused.status_code, Course.objects.count()) == (422, 0)
    rotation.is_draft = False
    rotation.save()

    answers = [client.post(f"{address}begin/", day) for _twice in range(2)]

    course = Course.objects.get()
    assert [each["Location"] for each in answers] == [f"/courses/{course.pk}/"] * 2


def test_a_first_day_that_has_passed_waits_for_the_office(estimate, link):
    later = TODAY + timedelta(days=5)

    accept(estimate, link, today=later)

    estimate.refresh_from_db()
    assert estimate.stopped_by == ["The first day that was proposed has passed."]
    assert begin(estimate, first_day=later, by=None, today=later, at=NOW).first_day == later


def test_what_was_accepted_is_what_the_visit_is_charged(told, prices, link):
    estimate = write(told, prices={1: Decimal("60.00")})
    accept(estimate, link)
    Visit.objects.update(state="COMPLETED", completed_at=NOW)

    charges = [each.charge for each in figures_of(Visit.objects.order_by("rotation_week__week"))]

    assert [each.amount for each in charges] == [60, 85, 85]
    assert all(each.is_agreed for each in charges)


def test_the_mail_brings_paper_and_link_once(estimate, mailoutbox):
    row = send_estimate(estimate, today=TODAY, at=NOW)
    assert send_estimate(estimate, today=TODAY, at=NOW) == row

    deliver(row.pk, now=NOW)

    (mail,) = mailoutbox
    assert mail.to == ["reader@example.org"]
    assert mail.attachments[0][1] == bytes(estimate.paper)
    token = mail.body.split("/c/")[1].split()[0]
    assert ClientLink.objects.get().digest == ClientLink.digest_of(token)
    assert Outbox.objects.count() == 1
    assert estimate.sha256 in JournalEntry.objects.latest("seq").body


def test_nothing_is_sent_without_an_address_or_once_it_is_over(estimate, reader):
    with pytest.raises(ValidationError, match="Only an open estimate"):
        send_estimate(estimate, today=TODAY + timedelta(days=31), at=NOW)
    reader.email = ""
    reader.save()
    fresh = Estimate.objects.get(pk=estimate.pk)
    with pytest.raises(ValidationError, match="no email address"):
        send_estimate(fresh, today=TODAY, at=NOW)


@pytest.fixture
def page(client, reader):
    """The client's browser, with a link opened."""
    client.get(f"/c/{make_link(reader, now=NOW)}")
    return client


def test_the_client_reads_and_accepts_on_the_own_page(page, estimate):
    address = f"/client/estimates/{estimate.pk}"
    assert f"{address}/" in page.get("/client/").content.decode()
    before = list(Estimate.objects.values())
    shown = page.get(f"{address}/")
    paper = page.get(f"{address}.pdf")
    assert list(Estimate.objects.values()) == before
    assert not EstimateAnswer.objects.exists()
    assert paper.content == bytes(estimate.paper)
    assert "no-store" in paper["Cache-Control"]
    assert estimate.sha256 in shown.content.decode()

    told = {"answer": "accepted", "paper": estimate.sha256, "words": "thank you"}
    answers = [page.post(f"{address}/answer/", told) for _twice in range(2)]

    assert [each.status_code for each in answers] == [302, 302]
    kept = EstimateAnswer.objects.get()
    assert (kept.link, kept.words) == (ClientLink.objects.get(), "thank you")
    assert "You accepted this estimate." in page.get(f"{address}/").content.decode()
    assert page.post(f"{address}/answer/", {**told, "answer": "declined"}).status_code == 409
    own_page = page.get("/client/").content.decode()
    assert f"{address}/" not in own_page
    assert f"{address}.pdf" in own_page


def test_nothing_is_answered_by_reading_or_without_the_own_form(page, estimate, reader):
    address = f"/client/estimates/{estimate.pk}/answer/"
    strict = Browser(enforce_csrf_checks=True)
    strict.get(f"/c/{make_link(reader, now=NOW)}")

    assert page.get(address).status_code == 405
    told = {"answer": "accepted", "paper": estimate.sha256}
    assert strict.post(address, told).status_code == 403
    assert page.post(address, {**told, "answer": "perhaps"}).status_code == 422
    assert not EstimateAnswer.objects.exists()


def test_another_clients_estimate_is_not_there(client, estimate):
    other = Client.objects.create(name="Town of Nowhere")
    client.get(f"/c/{make_link(other, now=NOW)}")
    address = f"/client/estimates/{estimate.pk}"

    assert client.get(f"{address}/").status_code == 404
    assert client.get(f"{address}.pdf").status_code == 404
    told = {"answer": "accepted", "paper": estimate.sha256}
    assert client.post(f"{address}/answer/", told).status_code == 404


def test_a_withdrawn_estimate_leaves_the_clients_page(page, estimate):
    withdraw(estimate, at=NOW)

    assert page.get(f"/client/estimates/{estimate.pk}/").status_code == 404


def test_the_office_writes_one_after_prices_were_shown(client, dispatcher, told, prices, counted):
    client.force_login(dispatcher)
    typed = {
        "rotation": told["rotation"].pk,
        "plantings": [told["plantings"][0].pk],
        "first_day": told["first_day"],
        "valid_until": told["valid_until"],
        "form_id": uuid4(),
    }
    first = client.post("/estimates/new/", typed)
    assert not Estimate.objects.exists()
    assert first.context["prices"]["week_1"].value() == 85
    typed["looked_at"] = first.context["form"]["looked_at"].value()
    assert client.post("/estimates/new/", {**typed, "week_1": "x"}).status_code == 422
    typed |= {"week_1": "85.00", "week_2": "70", "week_3": "85.00"}

    answers = [client.post("/estimates/new/", typed) for _twice in range(2)]

    estimate = Estimate.objects.get()
    assert [each["Location"] for each in answers] == [f"/estimates/{estimate.pk}/"] * 2
    assert estimate.weeks_total == 240
    assert "open" in client.get("/estimates/").content.decode()
    assert client.get(f"/estimates/{estimate.pk}.pdf").content == bytes(estimate.paper)
    client.post(f"/estimates/{estimate.pk}/send/")
    assert Outbox.objects.get().kind == "estimate"
    client.post(f"/estimates/{estimate.pk}/withdraw/")
    assert "withdrawn" in client.get(f"/estimates/{estimate.pk}/").content.decode()


@pytest.mark.parametrize("who", ["technician", "inspector"])
def test_nobody_else_is_shown_estimates(who, client, request, estimate):
    client.force_login(request.getfixturevalue(who))

    for address in ("/estimates/", f"/estimates/{estimate.pk}/", "/estimates/new/"):
        assert client.get(address).status_code == 403


def test_programs_do_the_same(api, dispatcher, told, prices, link):
    api.force_authenticate(dispatcher)
    asked = {
        "rotation": told["rotation"].pk,
        "plantings": [told["plantings"][0].pk],
        "first_day": str(told["first_day"]),
        "valid_until": str(told["valid_until"]),
        "prices": {"1": "60.00"},
    }

    written = api.post("/api/v1/estimates/", asked, format="json")

    assert written.status_code == 201
    assert (written.data["weeks_total"], written.data["state"]) == ("230.00", "open")
    address = f"/api/v1/estimates/{written.data['id']}/"
    assert api.post(f"{address}send/").data["kind"] == "estimate"
    assert api.post(f"{address}begin/", {"first_day": str(TODAY)}).status_code == 400
    accept(Estimate.objects.get(), link, today=TODAY + timedelta(days=2))
    begun = api.post(f"{address}begin/", {"first_day": str(told["first_day"])})
    assert begun.data["id"] == Course.objects.get().pk
    assert api.get(address).data["answer"]["answer"] == "accepted"
    assert api.post(f"{address}withdraw/").status_code == 400


def test_a_removed_client_leaves_only_what_was_accepted(told, prices, link, reader):
    accepted, declined, open_one = write(told), write(told), write(told)
    accept(accepted, link)
    accept(declined, link, accepts=False)
    accepted.refresh_from_db()
    end_course(accepted.course, outcome="stopped", by=None, at=NOW)

    remove_client(reader, by=None, at=NOW)

    papers = {each.pk: bool(each.paper) for each in Estimate.objects.all()}
    assert papers == {accepted.pk: True, declined.pk: False, open_one.pk: False}
    open_one.refresh_from_db()
    assert open_one.withdrawn_at == NOW


@pytest.mark.parametrize("source", ["", "common practice"])
def test_the_source_of_a_threshold_is_told_in_the_readers_language(counted, spider_mite, source):
    spider_mite.threshold_source = source
    with translation.override("es"):
        (told,) = found_on([counted.planting], spider_mite)

    assert told.endswith("(práctica común).")

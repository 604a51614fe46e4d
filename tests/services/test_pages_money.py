"""The pages of money: what visits cost and earn, prices, a client's account, statements."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from uuid import uuid4

import pytest
import time_machine

from services.completing import ApplicationReport, complete_visit
from services.models import CostRate, Payment, PriceRule, Statement, TaxRate, Visit

NOW = datetime(2026, 7, 6, 23, 0, tzinfo=UTC)
JANUARY = date(2026, 1, 1)


@pytest.fixture(autouse=True)
def that_evening():
    """Stop the clock in the evening of the first visit."""
    with time_machine.travel(NOW, tick=False):
        yield


def make(visit, bed, lot, applicator):
    complete_visit(
        visit,
        reports=[ApplicationReport(bed, lot, Decimal("7.5"), Decimal(3))],
        started_at=NOW - timedelta(minutes=40),
        done_at=NOW,
        applicator=applicator,
        by=applicator.user,
    )


@pytest.fixture
def made(visits, rose_bed, soap_lot, applicator, crew, yard):
    """The first visit, made just now."""
    make(visits[0], rose_bed, soap_lot, applicator)
    return Visit.objects.get(pk=visits[0].pk)


@pytest.fixture
def price(db):
    """A visit costs 85 USD."""
    return PriceRule.objects.create(by="visit", amount=Decimal(85), from_day=JANUARY)


@pytest.fixture
def office(client, dispatcher):
    """The browser of the office."""
    client.force_login(dispatcher)
    return client


@pytest.mark.parametrize("by", ["visit", "course", "client"])
def test_the_page_shows_each_grouping(by, office, made, price):
    page = office.get("/money/", {"by": by}).content.decode()

    assert "85.00" in page
    assert "unknown" in page
    assert "The way there is not known" in page


def test_rows_are_sorted_and_paged_on_the_server(office, made, price, second_course, monkeypatch):
    # The twin of the course was made after its first visit, so that one is made there as well.
    PriceRule.objects.create(
        by="visit", amount=99, from_day=JANUARY, property=second_course.property
    )
    monkeypatch.setattr("services.views.earnings.ROWS", 1)

    def first(**query):
        return next(iter(office.get("/money/", query).context["page"])).charge.amount

    assert (first(sort="charge"), first(sort="-charge")) == (85, 99)
    assert (first(sort="charge", page=2), first(sort="-charge", page=2)) == (99, 85)
    assert 'aria-sort="descending"' in office.get("/money/?sort=-charge").content.decode()


def test_what_is_not_known_stands_last_either_way(office, made, price, visits):
    Visit.objects.filter(pk=visits[1].pk).update(
        state="COMPLETED", completed_at=NOW, started_at=NOW - timedelta(minutes=30)
    )
    for sort in ("labour", "-labour"):
        rows = list(office.get("/money/", {"sort": sort}).context["page"])
        assert [row.labour_minutes.amount for row in rows] == [40, None]


def test_a_period_that_ends_before_it_begins_is_told(office):
    answer = office.get("/money/", {"first": "2026-07-06", "last": "2026-07-05"})

    assert answer.status_code == 422


def test_more_visits_ask_no_more_often(office, made, price, visits, count_queries):
    once = count_queries("/money/")
    Visit.objects.filter(pk=visits[1].pk).update(state="COMPLETED", completed_at=NOW)

    assert count_queries("/money/") == once


def test_a_price_is_entered_and_ends_today(office):
    told = {"by": "visit", "amount": "70", "from_day": "2026-07-01"}
    assert office.post("/money/prices/new/", told).status_code == 302
    assert office.post("/money/prices/new/", told).status_code == 422
    rule = PriceRule.objects.get()

    office.post(f"/money/prices/{rule.pk}/end/")

    rule.refresh_from_db()
    assert (rule.until_day, rule.made_by.username) == (date(2026, 7, 6), "dispatcher")


def test_a_price_for_a_client_and_a_property_at_once_is_refused(office, library):
    told = {"by": "visit", "amount": "70", "from_day": "2026-07-01", "property": library.pk}

    answer = office.post("/money/prices/new/", {**told, "client": library.client_id})

    assert answer.status_code == 422
    assert not PriceRule.objects.exists()


def test_the_owner_enters_taxes_and_the_page_gives_no_advice(client, owner, dispatcher):
    told = {
        "name": "Tax of Nowhere",
        "jurisdiction": "Pennsylvania",
        "percent": "6",
        "falls_on": "both",
        "from_day": "2026-01-01",
    }
    client.force_login(dispatcher)
    assert client.post("/money/taxes/new/", told).status_code == 403
    client.force_login(owner)
    assert client.post("/money/taxes/new/", told).status_code == 302

    page = client.get("/money/prices/").content.decode()

    assert TaxRate.objects.get().jurisdiction == "US-PA"
    assert "gives no advice on tax" in page
    assert "6 %" in page


def test_a_cost_is_entered(office):
    office.post("/money/costs/new/", {"of": "hour", "amount": "30", "from_day": "2026-01-01"})

    assert CostRate.objects.get().amount == 30


def test_a_statement_is_looked_at_then_given_out_once(office, made, price, reading_society):
    period = {"first": "2026-07-01", "last": "2026-07-31"}
    account = f"/clients/{reading_society.pk}"
    draft = office.get(f"{account}/statement/", period)
    assert not Statement.objects.exists()
    assert "85.00" in draft.content.decode()
    told = {**period, "form_id": draft.context["form"]["form_id"].value()}

    answers = [office.post(f"{account}/statement/give/", told) for _twice in range(2)]

    assert [each["Location"] for each in answers] == ["/statements/1/"] * 2
    assert "Statement 1" in office.get("/statements/1/").content.decode()
    assert office.get("/statements/1/statement.pdf").content.startswith(b"%PDF")
    assert office.get("/statements/1/statement.pdf?language=es").content.startswith(b"%PDF")
    assert "Reading Society" in office.get("/statements/1/statement.csv").content.decode()
    listed = office.get("/money/statements.csv", period).content.decode()
    assert "Reading Society" in listed


def test_nothing_to_charge_is_said(office, made, reading_society):
    told = {"first": "2026-07-01", "last": "2026-07-31", "form_id": uuid4()}

    answer = office.post(f"/clients/{reading_society.pk}/statement/give/", told)

    assert answer.status_code == 422
    assert "No price rule speaks of this visit." in answer.content.decode()
    assert not Statement.objects.exists()


def test_a_statement_is_not_given_out_by_reading(office, reading_society):
    assert office.get(f"/clients/{reading_society.pk}/statement/give/").status_code == 405


def test_payments_are_noted_and_taken_back(office, reading_society):
    address = f"/clients/{reading_society.pk}/payments/new/"
    told = {"day": "2026-07-06", "amount": "50", "way": "check", "form_id": uuid4()}
    for _twice in range(2):
        office.post(address, told)
    payment = Payment.objects.get()

    office.post(f"/payments/{payment.pk}/take-back/")

    page = office.get(f"/clients/{reading_society.pk}/account/").content.decode()
    assert "Balance: 0.00 USD" in page
    assert "(taken back)" in page


@pytest.mark.parametrize(
    "wrong", [{"amount": "0"}, {"amount": "x"}, {"day": "2026-07-07"}, {"way": "barter"}]
)
def test_a_payment_that_cannot_be_is_refused_beside_what_was_typed(wrong, office, reading_society):
    told = {"day": "2026-07-06", "amount": "50", "way": "check", "form_id": uuid4(), **wrong}

    answer = office.post(f"/clients/{reading_society.pk}/payments/new/", told)

    assert answer.status_code == 422
    assert not Payment.objects.exists()


def test_a_correction_waits_on_the_account(office, made, price, reading_society, library):
    told = {"day": "2026-07-06", "amount": "-5", "kind": "service", "words": "came late"}
    told |= {"property": library.pk, "form_id": uuid4()}

    office.post(f"/clients/{reading_society.pk}/charges/correct/", told)

    page = office.get(f"/clients/{reading_society.pk}/account/").content.decode()
    assert "came late, -5.00 USD" in page


@pytest.mark.parametrize("who", ["technician", "inspector", "applicator_user"])
def test_nobody_else_is_shown_what_is_charged(who, client, request, applicator, reading_society):
    user = applicator.user if who == "applicator_user" else request.getfixturevalue(who)
    client.force_login(user)

    for address in ("/money/", "/money/prices/", f"/clients/{reading_society.pk}/account/"):
        assert client.get(address).status_code == 403
    if who == "applicator_user":
        assert "/money/" not in client.get("/properties/").content.decode()
        assert "/account/" not in client.get(f"/clients/{reading_society.pk}/").content.decode()


def test_programs_do_the_same(api, dispatcher, owner, made, reading_society, library):
    api.force_authenticate(dispatcher)
    rule = {"by": "visit", "amount": "85.00", "from_day": "2026-01-01"}
    assert api.post("/api/v1/price-rules/", rule).status_code == 201
    assert api.post("/api/v1/price-rules/", rule).status_code == 400
    tax = {"name": "Tax", "jurisdiction": "US-PA", "percent": "6", "falls_on": "both"}
    tax["from_day"] = "2026-01-01"
    assert api.post("/api/v1/tax-rates/", tax).status_code == 403
    api.force_authenticate(owner)
    assert api.post("/api/v1/tax-rates/", tax).status_code == 201
    period = {"client": reading_society.pk, "first_day": "2026-07-01", "last_day": "2026-07-31"}
    assert api.get("/api/v1/statements/draft/", period).data["total"] == "90.10"
    told = {**period, "form_id": str(uuid4())}
    given = [api.post("/api/v1/statements/", told) for _twice in range(2)]
    assert [each.data["number"] for each in given] == [1, 1]
    payment = {"client": reading_society.pk, "day": "2026-07-06", "amount": "90.10", "way": "cash"}
    noted = api.post("/api/v1/payments/", payment)
    assert noted.status_code == 201
    back = api.post(f"/api/v1/payments/{noted.data['id']}/take-back/")
    assert back.data["amount"] == "-90.10"
    charge = {"client": reading_society.pk, "property": library.pk, "day": "2026-07-06"}
    charge |= {"amount": "-5", "words": "came late"}
    assert api.post("/api/v1/charge-corrections/", charge).status_code == 201
    (earned,) = api.get("/api/v1/earnings/").data["results"]
    assert (earned["charge"], earned["margin"], earned["labour_minutes"]) == ("85.00", None, 40)


def test_a_program_may_not_give_out_a_period_that_ends_before_it_begins(
    api, dispatcher, reading_society
):
    api.force_authenticate(dispatcher)
    told = {"client": reading_society.pk, "first_day": "2026-07-31", "last_day": "2026-07-01"}

    assert api.post("/api/v1/statements/", told).status_code == 400

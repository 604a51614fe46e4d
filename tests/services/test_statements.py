"""Statements: every visit once, sums that add up, frozen when given out, corrected by new lines."""

import csv
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from io import BytesIO, StringIO
from uuid import UUID, uuid4

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, connection, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pypdf import PdfReader

from services.completing import ApplicationReport, complete_visit
from services.figures import figures_of
from services.models import (
    CostRate,
    Payment,
    PriceRule,
    Statement,
    StatementLine,
    TaxRate,
    Visit,
)
from services.models.statements import balance_of
from services.printing.statements import statement_pdf, statements_csv
from services.statements import (
    correct_charge,
    draft_for,
    give_out,
    note_payment,
    take_back_payment,
)
from treatments.models import JournalEntry, Lot
from treatments.recording import amend_application

NOW = datetime(2026, 7, 6, 23, 0, tzinfo=UTC)
DAY = date(2026, 7, 6)
JANUARY = date(2026, 1, 1)
JULY = {"first_day": date(2026, 7, 1), "last_day": date(2026, 7, 31)}


def make(visit, bed, lot, applicator, done_at=NOW):
    complete_visit(
        visit,
        reports=[ApplicationReport(bed, lot, Decimal("7.5"), Decimal(3))],
        started_at=done_at - timedelta(minutes=40),
        done_at=done_at,
        applicator=applicator,
        by=applicator.user,
        now=done_at,
    )
    return Visit.objects.get(pk=visit.pk)


@pytest.fixture
def made(visits, rose_bed, soap_lot, applicator, crew):
    """The first visit: forty minutes of the applicator alone, 7.5 fl oz of soap on 600 sq ft."""
    return make(visits[0], rose_bed, soap_lot, applicator)


@pytest.fixture
def prices(db):
    """85 USD a visit, an hour for 30 USD and a mile for 70 cents; 6 % on everything."""
    PriceRule.objects.create(by="visit", amount=Decimal(85), from_day=JANUARY)
    CostRate.objects.create(of="hour", amount=Decimal(30), from_day=JANUARY)
    CostRate.objects.create(of="mile", amount=Decimal("0.70"), from_day=JANUARY)
    TaxRate.objects.create(
        name="Tax of Nowhere",
        jurisdiction="US-PA",
        percent=Decimal(6),
        falls_on="both",
        from_day=JANUARY,
    )


def figures(visit):
    (told,) = figures_of(Visit.objects.filter(pk=visit.pk))
    return told


def give(client, form_id=None, by=None, at=NOW, **period):
    told = {**JULY, **period}
    return give_out(client, by=by, at=at, form_id=form_id or uuid4(), **told)


def test_the_cost_of_a_visit_is_read_from_its_records(made, prices, soap_lot):
    Lot.objects.filter(pk=soap_lot.pk).update(unit_cost=Decimal("0.1450"))

    cost = figures(made).cost

    # One person 40 min at 30 USD an hour = 20; 7.5 fl oz at 0.145 = 1.0875
    assert (cost.labour_minutes, cost.labour, cost.product) == (40, 20, Decimal("1.09"))
    assert [str(sentence) for sentence, _ in cost.unknown] == [
        "The way there is not known: the visit was on no route."
    ]


def test_a_lot_without_a_cost_leaves_the_margin_unknown(made, prices):
    told = figures(made)

    assert told.cost.product_known() is None
    assert told.margin() is None
    assert told.charge.amount == 85


def test_the_crew_that_was_sent_counts_and_its_route_is_shared(
    dispatched, rose_bed, oil_lot, applicator, technician, prices
):
    at = datetime(2026, 7, 13, 13, tzinfo=UTC)
    legs = [
        ("travel", 0, 15, {"metres": 16093.44}),
        ("work", 15, 55, {"visit": dispatched.pk}),
        ("travel", 55, 70, {"metres": 16093.44}),
    ]
    dispatched.dispatch.legs = [
        {
            "kind": kind,
            "from": (at + timedelta(minutes=start)).isoformat(),
            "until": (at + timedelta(minutes=end)).isoformat(),
            **more,
        }
        for kind, start, end, more in legs
    ]
    dispatched.dispatch.save()
    Lot.objects.filter(pk=oil_lot.pk).update(unit_cost=Decimal("0.10"))
    made = make(dispatched, rose_bed, oil_lot, applicator, at + timedelta(minutes=55))

    told = figures(made)

    # Two people 40 min = 40 USD; on the way 30 min = 30 USD and 20 miles = 14 USD; oil 0.75
    assert told.cost.labour_minutes == 80
    assert round(told.cost.travel_miles, 6) == 20
    assert (told.cost.labour, told.cost.travel, told.cost.product) == (40, 44, Decimal("0.75"))
    assert told.margin() == Decimal("0.25")


def test_a_void_record_costs_nothing_and_an_amended_one_as_amended(
    made, prices, soap_lot, applicator
):
    Lot.objects.filter(pk=soap_lot.pk).update(unit_cost=Decimal(1))
    record = made.records.get()
    amend_application(
        record,
        reason="It was five fluid ounces.",
        by=applicator.user,
        captured_at=NOW,
        now=NOW,
        product_amount=Decimal(5),
    )

    assert figures(made).cost.product == 5


def test_the_figures_ask_as_often_for_three_visits_as_for_one(
    made, visits, rose_bed, soap_lot, oil_lot, applicator, prices, django_assert_num_queries
):
    with django_assert_num_queries(7):
        figures_of(Visit.objects.filter(state=Visit.State.COMPLETED))
    make(visits[1], rose_bed, oil_lot, applicator, NOW + timedelta(days=7))
    make(visits[2], rose_bed, soap_lot, applicator, NOW + timedelta(days=14))
    with django_assert_num_queries(7):
        assert len(figures_of(Visit.objects.filter(state=Visit.State.COMPLETED))) == 3


def test_a_statement_charges_visits_and_tax(made, prices, reading_society):
    given = give(reading_society)

    # 85 and 6 % of it
    assert (given.lines_total, given.tax_total, given.total) == (
        85,
        Decimal("5.10"),
        Decimal("90.10"),
    )
    (line,) = given.lines.all()
    assert line.visit == made
    assert "A visit: 85.00 USD (for all, from Jan 1, 2026)" in line.priced
    assert given.number == 1
    assert given.client_name == "Reading Society"


def test_the_same_form_gives_the_same_statement(made, prices, reading_society):
    form_id = UUID(int=7)

    assert give(reading_society, form_id) == give(reading_society, form_id)
    assert Statement.objects.count() == 1


def test_a_visit_is_charged_once_whatever_the_periods(made, prices, reading_society):
    give(reading_society)

    with pytest.raises(ValidationError, match="nothing to charge"):
        give(reading_society)
    assert StatementLine.objects.filter(visit=made).count() == 1
    assert draft_for(reading_society, **JULY).lines == []


def test_the_database_refuses_to_charge_a_visit_twice(made, prices, reading_society):
    line = give(reading_society).lines.get()
    line.pk, line.place_in_order = None, 2
    line._state.adding = True

    with pytest.raises(DatabaseError), transaction.atomic():
        line.save()


def test_a_visit_without_a_price_waits(made, reading_society):
    draft = draft_for(reading_society, **JULY)

    assert draft.lines == []
    assert [each.visit for each in draft.unpriced] == [made]


def test_what_was_given_out_stays_as_it_was(made, prices, reading_society, business):
    given = give(reading_society)
    paper = bytes(given.paper.pdf)
    reading_society.name = "Another name"
    reading_society.save()
    business.phone = "555-0199"
    business.save()
    PriceRule.objects.update(amount=Decimal(1))
    given = Statement.objects.get(pk=given.pk)

    assert given.client_name == "Reading Society"
    assert given.total == Decimal("90.10")
    assert bytes(given.paper.pdf) == paper
    assert (
        given.paper.sha256
        in JournalEntry.objects.filter(envelope__contains='"kind":"paper"').latest("seq").body
    )


@pytest.mark.parametrize(
    "table", ["statement", "statementline", "statementpaper", "payment", "chargecorrection"]
)
def test_no_row_of_an_account_is_changed_or_removed(table, made, prices, reading_society, library):
    give(reading_society)
    note(reading_society)
    correct(reading_society, library)

    for change in ("UPDATE services_{} SET id = id", "DELETE FROM services_{}"):
        with pytest.raises(DatabaseError), transaction.atomic():
            connection.cursor().execute(change.format(table))


def note(client, amount="50", day=DAY, form_id=None):
    return note_payment(
        client,
        day=day,
        amount=Decimal(amount),
        way="check",
        by=None,
        at=NOW,
        form_id=form_id or uuid4(),
    )


def correct(client, place, amount="-5", **more):
    told = {"day": DAY, "words": "came late", "by": None, "at": NOW, "form_id": uuid4(), **more}
    return correct_charge(client, property=place, amount=Decimal(amount), **told)


def test_a_correction_is_a_new_line_of_the_next_statement(made, prices, reading_society, library):
    first = give(reading_society)
    correct(reading_society, library, visit=Visit.objects.get(pk=made.pk))

    second = give(reading_society)

    (line,) = second.lines.all()
    assert line.words == "Correction of statement 1: came late"
    # 5 and 6 % of it are taken off
    assert (second.total, second.carried) == (Decimal("-5.30"), first.balance)
    assert second.balance == Decimal("84.80") == balance_of(reading_society)


@pytest.mark.parametrize("wrong", ["property", "visit", "uncharged"])
def test_a_correction_is_of_the_clients_own(
    wrong, made, prices, reading_society, library, second_course
):
    other = second_course.visits.first()
    told = {
        "property": (second_course.property, None),
        "visit": (library, other),
        "uncharged": (library, made),
    }
    place, visit = told[wrong]

    with pytest.raises(ValidationError):
        correct(reading_society, place, visit=visit)


def test_payments_come_off_the_balance_once(made, prices, reading_society):
    give(reading_society)
    note(reading_society, "50", form_id=UUID(int=5))
    note(reading_society, "50", form_id=UUID(int=5))

    second = give(reading_society)

    assert Payment.objects.count() == 1
    assert (second.carried, second.paid, second.balance) == (
        Decimal("90.10"),
        50,
        Decimal("40.10"),
    )
    assert draft_for(reading_society, **JULY).payments == []


def test_a_payment_noted_wrongly_is_taken_back_once(made, prices, reading_society):
    payment = note(reading_society)

    opposite = take_back_payment(payment, by=None, at=NOW)

    assert take_back_payment(payment, by=None, at=NOW) == opposite
    assert balance_of(reading_society) == 0
    with pytest.raises(ValidationError):
        take_back_payment(opposite, by=None, at=NOW)


@pytest.mark.parametrize(("amount", "day"), [("0", DAY), ("-1", DAY), ("1", date(2026, 7, 8))])
def test_a_payment_is_more_than_nothing_and_not_still_to_come(amount, day, reading_society):
    with pytest.raises(ValidationError):
        note(reading_society, amount, day)


ACTS = st.lists(
    st.one_of(
        st.tuples(st.just("make"), st.integers(0, 2)),
        st.tuples(st.just("give"), st.integers(0, 2)),
        st.tuples(st.just("pay"), st.decimals("0.01", 500, places=2)),
        st.tuples(st.just("correct"), st.decimals("0.01", 99, places=2)),
    ),
    max_size=8,
)


@pytest.mark.slow
@given(ACTS, st.decimals(0, 300, places=2), st.decimals(0, 12, places=4))
@settings(
    max_examples=40,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_whatever_happens_sums_add_up_and_no_visit_is_charged_twice(
    visits, reading_society, library, acts, price, percent
):
    with transaction.atomic():
        PriceRule.objects.create(by="visit", amount=price, from_day=JANUARY)
        told = {"name": "Tax", "jurisdiction": "US-PA", "falls_on": "both", "from_day": JANUARY}
        TaxRate.objects.create(percent=percent, **told)
        for what, much in acts:
            act(what, much, visits, reading_society, library)
        check_sums(reading_society)
        transaction.set_rollback(True)


def act(what, much, visits, client, library):
    if what == "make":
        done = NOW + timedelta(weeks=much)
        Visit.objects.filter(pk=visits[much].pk).update(state="COMPLETED", completed_at=done)
    elif what == "give" and not nothing_to_say(client, much):
        give(client, first_day=DAY, last_day=DAY + timedelta(weeks=much))
    elif what == "pay":
        note(client, much)
    elif what == "correct":
        correct(client, library, -much)


def nothing_to_say(client, weeks):
    draft = draft_for(client, DAY, DAY + timedelta(weeks=weeks))
    return not draft.lines and not draft.payments


def check_sums(client):
    statements = list(Statement.objects.order_by("number"))
    for each in statements:
        assert sum(line.amount for line in each.lines.all()) == each.lines_total
        assert sum(Decimal(tax["amount"]) for tax in each.taxes) == each.tax_total
        assert each.lines_total + each.tax_total == each.total
        assert sum(paid.amount for paid in each.payments.all()) == each.paid
    assert [each.number for each in statements] == list(range(1, len(statements) + 1))
    charged = [line.visit_id for line in StatementLine.objects.filter(visit__isnull=False)]
    assert len(charged) == len(set(charged))
    assert charged_and_paid() == balance_of(client)


def charged_and_paid():
    charged = sum((each.total for each in Statement.objects.all()), Decimal(0))
    return charged - sum((each.amount for each in Payment.objects.all()), Decimal(0))


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_paper_says_all_of_it_and_gives_the_same_bytes(
    language, made, prices, reading_society, business
):
    reading_society.language = language
    reading_society.save()
    note(reading_society)
    given = give(reading_society)

    again = statement_pdf(Statement.objects.get(pk=given.pk))

    assert again == bytes(given.paper.pdf)
    text = "".join(page.extract_text() for page in PdfReader(BytesIO(again)).pages)
    for told in ("Reading Society", "$85.00", "$5.10", "$90.10", "$40.10", "Tax of Nowhere"):
        assert told in text


def test_the_table_for_the_accountant_is_read_by_another_reader(made, prices, reading_society):
    given = give(reading_society)
    text = "".join(statements_csv([given]))

    # RFC 4180: lines end in CRLF; the reader is that of Python's library
    rows = list(csv.reader(StringIO(text.removeprefix("\ufeff")), strict=True))

    assert text.endswith("\r\n")
    assert [row[-1] for row in rows[1:]] == ["85.00", "5.10"]


def test_no_cell_of_the_table_is_taken_for_a_formula(made, prices, reading_society, library):
    reading_society.name = '=HYPERLINK("http://x")'
    reading_society.save()
    correct(reading_society, library, words="@SUM(1)")
    text = "".join(statements_csv([give(reading_society)]))

    cells = [cell for row in csv.reader(StringIO(text)) for cell in row]
    texts = [cell for cell in cells if not cell.replace(".", "").lstrip("-").isdigit()]
    assert not [cell for cell in texts if cell.startswith(("=", "+", "@", "-"))]
    assert '\'=HYPERLINK("http://x")' in cells

"""Periodic returns: the right days, the fields of the rule, and no claim to be a form."""

from datetime import UTC, date, datetime
from io import BytesIO

import pytest
import time_machine
from django.urls import reverse
from django.utils import translation
from pypdf import PdfReader

from services.printing.returns import heads_of
from treatments.rules.records import return_rule


@pytest.mark.parametrize(
    ("place", "day", "first", "last", "due"),
    [
        # [NY-ECL-33] by 1 February for the year before
        ("US-NY", date(2026, 12, 31), date(2026, 1, 1), date(2026, 12, 31), date(2027, 2, 1)),
        ("US-NY", date(2027, 1, 1), date(2027, 1, 1), date(2027, 12, 31), date(2028, 2, 1)),
        # [CA-3CCR6624] by the 10th of the following month
        ("US-CA", date(2028, 2, 29), date(2028, 2, 1), date(2028, 2, 29), date(2028, 3, 10)),
        ("US-CA", date(2026, 12, 1), date(2026, 12, 1), date(2026, 12, 31), date(2027, 1, 10)),
        # [MA-333CMR] yearly; the day was not read
        ("US-MA", date(2026, 5, 4), date(2026, 1, 1), date(2026, 12, 31), None),
    ],
)
def test_periods_and_days_are_those_of_the_rules(place, day, first, last, due):
    rule = return_rule(place)

    assert (rule.first_day(day), rule.last_day(day), rule.due_on(day)) == (first, last, due)


def test_a_place_whose_rule_names_none_has_none():
    assert return_rule("US-PA") is None
    assert return_rule("US-ZZ") is None


@pytest.fixture
def new_york(library):
    library.jurisdiction, library.county = "US-NY", "Suffolk"
    library.save()
    return library


@pytest.fixture
def in_new_york(new_york, keep):
    """Two applications in New York, the second after midnight of the new year there."""
    return [
        keep(done_at=datetime(2026, 7, 6, 22, tzinfo=UTC)),
        keep(done_at=datetime(2027, 1, 1, 6, tzinfo=UTC)),
    ]


@pytest.fixture
def keep(rose_bed, soap_lot, spider_mite, applicator, business, new_york):
    from decimal import Decimal

    from treatments.recording import record_application

    rose_bed.property.refresh_from_db()

    def kept(done_at):
        return record_application(
            planting=rose_bed,
            product=soap_lot.product,
            pest=spider_mite,
            lot=soap_lot,
            applicator=applicator,
            rate=Decimal("2.5"),
            rate_basis="fl oz/gal",
            product_amount=Decimal("7.5"),
            mix_gallons=Decimal(3),
            started_at=done_at,
            done_at=done_at,
            recorded_by=applicator.user,
        )

    return kept


def test_the_table_holds_the_fields_of_the_rule_and_says_what_it_is_not(client, owner, in_new_york):
    client.force_login(owner)

    text = client.get(reverse("services:return_csv", args=["US-NY", date(2026, 7, 6)])).content
    lines = text.decode("utf-8-sig").splitlines()

    # [NY-ECL-33] number, product, quantity, day, place with ZIP, dose, method, target
    assert "Not an official form" in lines[0]
    assert len(lines) == 3
    assert "7.5" in lines[2]
    assert "Suffolk" in lines[2]
    assert "0-101" in lines[2]


def test_a_year_ends_by_the_clocks_of_the_place(client, owner, in_new_york):
    client.force_login(owner)

    paper = client.get(reverse("services:return_pdf", args=["US-NY", date(2027, 1, 1)])).content

    text = "".join(page.extract_text() for page in PdfReader(BytesIO(paper)).pages)
    assert "1 application from" in text
    assert "Not an official form" in text
    assert "Feb 1, 2028" in " ".join(text.split())


def test_a_return_without_a_record_tells_its_hour_by_the_clocks_of_the_place(
    client, owner, new_york
):
    new_york.time_zone = "America/Chicago"
    new_york.save()

    with time_machine.travel(datetime(2027, 2, 3, 4, 30, tzinfo=UTC), tick=False):
        client.force_login(owner)
        paper = client.get(reverse("services:return_pdf", args=["US-NY", date(2025, 1, 1)])).content

    text = "".join(page.extract_text() for page in PdfReader(BytesIO(paper)).pages)
    assert "February 2, 2027, 10:30 pm CST" in " ".join(text.split())  # UTC less six hours


def test_the_page_names_what_is_due_and_what_is_not_known(client, owner, in_new_york):
    client.force_login(owner)

    page = client.get(reverse("services:returns")).content.decode()

    assert "ECL 33-1205" in page
    assert reverse("services:return_pdf", args=["US-NY", date(2026, 1, 1)])[:-15] in page


def test_a_technician_files_nothing(client, technician):
    client.force_login(technician)

    assert client.get(reverse("services:returns")).status_code == 403


def test_a_return_is_noted_as_filed_and_shown_late(client, owner, in_new_york):
    # [NY-ECL-33] by 1 February for the year before
    with time_machine.travel(datetime(2027, 2, 3, 16, tzinfo=UTC), tick=False):
        client.force_login(owner)
        before = client.get(reverse("services:returns")).content.decode()
        way = reverse("services:note_filed", args=["US-NY", date(2026, 1, 1)])
        answer = client.post(way, {"filed_on": "2027-02-02", "how": "by post, receipt 7"})
        after = client.get(reverse("services:returns")).content.decode()

    assert "note that it was filed" in before
    assert answer.status_code == 302
    assert "by post, receipt 7" in after
    assert '<b class="late">late</b>' in after


def test_a_period_without_a_record_is_named_and_not_called_late(client, owner, in_new_york):
    with time_machine.travel(datetime(2027, 2, 3, 16, tzinfo=UTC), tick=False):
        client.force_login(owner)
        page = client.get(reverse("services:returns")).content.decode()

    # Of 2025, 2026 and 2027 the first has none; 2026 was due on 1 February [NY-ECL-33].
    assert page.count("no record falls into it") == 1
    assert page.count('<b class="late">late</b>') == 1


def test_a_return_is_not_filed_within_its_period(client, owner, in_new_york):
    with time_machine.travel(datetime(2026, 12, 3, 16, tzinfo=UTC), tick=False):
        client.force_login(owner)
        way = reverse("services:note_filed", args=["US-NY", date(2026, 1, 1)])
        answer = client.post(way, {"filed_on": "2026-12-02", "how": "by post"})

    assert answer.status_code == 422


@pytest.mark.parametrize("language", ["en", "es"])
def test_heads_of_columns_begin_alike(language):
    with translation.override(language):
        heads = heads_of(return_rule("US-NY"))

    assert [head for head in heads if not head[0].isupper()] == []

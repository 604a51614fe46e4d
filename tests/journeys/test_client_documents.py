"""The documents on a client's own page: the own statements and estimates, nobody else's."""

import pytest
from django.test import Client as Browser

from services.models import EstimateAnswer, Statement
from tests.book import NOW

pytestmark = pytest.mark.django_db


@pytest.fixture
def own_page(book):
    """The browser of a client who followed the own link."""
    browser = Browser()
    browser.get(f"/c/{book.token}")
    return browser


def accepted(book, names):
    """Let the client of an estimate have accepted it."""
    return EstimateAnswer.objects.create(
        estimate_id=names["estimate_id"],
        answer=EstimateAnswer.Answer.ACCEPTED,
        at=NOW,
        link_id=names["link_id"],
        paper_sha256="0" * 64,
    )


def test_the_own_statements_and_answered_estimates_stand_on_the_page(book, own_page):
    accepted(book, book.own)
    accepted(book, book.foreign)

    page = own_page.get("/client/").content.decode()

    assert f"/client/statements/{book.own['statement_number']}.pdf" in page
    assert f"/client/estimates/{book.own['estimate_id']}.pdf" in page
    assert f"/client/statements/{book.foreign['statement_number']}.pdf" not in page
    assert f"/client/estimates/{book.foreign['estimate_id']}.pdf" not in page


def test_a_statement_is_the_paper_that_was_given_out(book, own_page):
    number = book.own["statement_number"]

    answer = own_page.get(f"/client/statements/{number}.pdf")

    assert answer["Content-Type"] == "application/pdf"
    assert answer.content == bytes(Statement.objects.get(number=number).paper.pdf)


def test_another_client_s_statement_is_not_there(book, own_page):
    number = book.foreign["statement_number"]

    assert own_page.get(f"/client/statements/{number}.pdf").status_code == 404
    assert Browser().get(f"/client/statements/{number}.pdf").status_code == 404


def test_an_estimate_without_an_answer_is_proposed_and_no_document(book, own_page):
    page = own_page.get("/client/").content.decode()

    assert f"/client/estimates/{book.own['estimate_id']}/" in page
    assert f"/client/estimates/{book.own['estimate_id']}.pdf" not in page

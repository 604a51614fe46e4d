"""Statements and estimates as paper: what is read first, in both languages, over many pages."""

from dataclasses import replace
from decimal import Decimal

import pytest

from services.sheets.estimate import draw_estimate
from services.sheets.statement import draw_statement


def test_a_statement_says_its_sums(bill, text_of):
    text = text_of(draw_statement(bill))

    for said in (
        "Statement 7",
        "Tax, US-PA: 6% of $85.00 $5.10",
        "Total $90.10",
        "Balance of the statement before $20.00",
        "Paid on Sat Jun 20, by check −$50.00",
        "Balance: $60.10",
    ):
        assert said in text


@pytest.mark.parametrize(("balance", "asks"), [("0.01", True), ("0", False), ("-5", False)])
def test_nothing_is_asked_for_where_nothing_is_owed(balance, asks, bill, text_of):
    text = text_of(draw_statement(replace(bill, balance=Decimal(balance))))

    assert ("Please name statement 7" in text) is asks
    assert ("Nothing is to be paid." in text) is not asks


def test_a_statement_of_a_season_runs_over_pages_with_its_heads(bill, pages_of):
    pages = pages_of(draw_statement(replace(bill, lines=bill.lines * 90)))

    assert len(pages) > 2
    assert all("What" in page.extract_text() for page in pages[:-1])


def test_an_estimate_says_until_when_and_the_cautions(proposal, text_of):
    text = text_of(draw_estimate(proposal))

    for said in (
        "Estimate 3",
        "mites on 12 of 20 leaves",
        "Total $90.10",
        "Valid until Saturday, July 18, 2026",
        "The rules for Nowhere are not verified here",
        "local codes and the advice of a licensed applicator",
    ):
        assert said in text


@pytest.mark.parametrize("paper", ["letter", "a4"])
@pytest.mark.parametrize("language", ["en", "es"])
def test_both_are_drawn_in_each_language_on_each_paper(paper, language, bill, proposal):
    imprint = replace(bill.imprint, language=language, paper=paper)

    for draw, sheet in ((draw_statement, bill), (draw_estimate, proposal)):
        pdf = draw(replace(sheet, imprint=imprint))
        assert pdf.startswith(b"%PDF")
        assert pdf == draw(replace(sheet, imprint=imprint))

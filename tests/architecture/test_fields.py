"""Roles hold on what pages say, not only on which pages open: the code of a gate."""

from datetime import timedelta
from functools import cache
from io import BytesIO
from zipfile import ZipFile

import pytest
from django.db import transaction
from pypdf import PdfReader

from clients.access import Role
from services.rules.one_time_codes import in_letters
from services.second_factor import secret_of
from tests.architecture.addresses import addresses
from tests.book import FOREIGN_GATE, NOW, OWN_GATE
from tests.services.test_second_factor import with_codes

pytestmark = [
    pytest.mark.django_db,
    pytest.mark.once,  # what a page tells; that each answers on either database is seen of routes
]


def everything_said(browser, things):
    """Yield each address that opens, with the text of what it answers."""
    for address in addresses():
        if "get" in address.rights:
            with transaction.atomic():
                answer = browser.get(address.filled(things))
            if answer.status_code == 200:
                yield address.route, text_of(answer)


def text_of(answer):
    content = answer.getvalue()
    if answer["Content-Type"] == "application/pdf":
        return printed(content)
    if answer["Content-Type"] == "application/zip":
        return " ".join(packed(content))
    return content.decode()


@cache
def printed(content):
    """Return the words of a paper; what several people print alike is read once."""
    return " ".join(page.extract_text() for page in PdfReader(BytesIO(content)).pages)


def packed(content):
    """Yield the text of each file of a package."""
    with ZipFile(BytesIO(content)) as files:
        for name in files.namelist():
            data = files.read(name)
            yield printed(data) if name.endswith(".pdf") else data.decode()


def where_said(word, browser, things):
    return sorted(route for route, text in everything_said(browser, things) if word in text)


@pytest.fixture(autouse=True)
def refusals_are_quiet(caplog):
    """Most addresses refuse most roles."""
    caplog.set_level("ERROR", "django.request")


@pytest.mark.parametrize("role", ["applicator", "technician", "inspector", "client", "stranger"])
def test_a_gate_code_is_not_said_to_who_does_not_go_in(role, book, visitor, things):
    assert where_said(FOREIGN_GATE, visitor(role), things | book.foreign) == []


@pytest.mark.parametrize("role", ["inspector", "client", "stranger"])
def test_no_gate_code_is_said_to_readers_of_records_and_clients(role, book, visitor, things):
    assert where_said(OWN_GATE, visitor(role), things) == []


def test_a_gate_code_is_said_to_the_crew_on_its_day(book, visitor, things):
    said = where_said(OWN_GATE, visitor("technician"), things)

    assert "properties/<int:property_id>/" in said
    assert "visits/<int:visit_id>/" in said
    assert "dispatches/<int:dispatch_id>/sheets.pdf" in said


@pytest.mark.parametrize("role", ["technician", "applicator"])
@pytest.mark.parametrize("days", [-1, 1])
def test_a_gate_code_is_said_neither_the_day_before_nor_after(
    role, days, book, visitor, things, now
):
    now.move_to(NOW + timedelta(days=days))

    assert where_said(OWN_GATE, visitor(role), things) == []


def test_the_office_always_knows_the_gate_codes(book, visitor, things, now):
    now.move_to(NOW + timedelta(days=5))

    assert "properties/<int:property_id>/" in where_said(OWN_GATE, visitor("office"), things)


def test_what_makes_a_persons_codes_is_said_nowhere(book, visitor, things):
    owner = book.people[Role.OWNER]
    recovery = with_codes(owner, NOW)[0]
    held = owner.authenticator
    letters = in_letters(secret_of(owner, held.seed))
    groups = letters[:4] + " " + letters[4:8]

    shown = things | {"export_id": 0, "package_id": 0}  # their files in the test book are none
    pages = " ".join(text for _route, text in everything_said(visitor("owner"), shown))

    digests = [each.digest for each in held.recovery_codes.all()]
    told = [held.seed, letters, groups, recovery, *digests]
    assert not [each for each in told if each in pages]

"""Letters that no rule asks for are stopped by one click [RFC 2369, RFC 8058]; others are not."""

from datetime import date

import pytest
from django.core import signing
from django.test import Client as Browser

from clients.models import Client
from services.completing.keeping import _queue_summary
from services.models import Outbox, Visit
from services.telling import letters, make_link, stop_letters
from services.telling.stopping import SALT, stop_address
from tests.book import NOW

pytestmark = pytest.mark.django_db

ADDRESS = "https://duskbook.example.org"


@pytest.fixture
def reader(book, settings):
    """The client of the own property, with the book at an address that browsers believe."""
    settings.ADDRESS = ADDRESS
    return Client.objects.get(pk=book.own["client_id"])


def path_of(client):
    return stop_address(client).removeprefix(ADDRESS)


def stopped(client):
    client.refresh_from_db()
    return client.letters_stopped_on is not None


@pytest.mark.parametrize("kind", ["summary", "estimate"])
def test_a_letter_that_no_rule_asks_for_says_where_it_is_stopped(kind, book, reader):
    letter = (
        letters.client_summary(book.own["made_id"])
        if kind == "summary"
        else letters.estimate(book.own["estimate_id"], reader.pk)
    )
    mail = letter.message()

    # the syntax of both headers [RFC 2369, section 3.2; RFC 8058, section 3.1]
    assert mail["List-Unsubscribe"] == f"<{stop_address(reader)}>"
    assert mail["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert stop_address(reader) in letter.body


def test_without_https_no_click_is_promised(book, reader, settings):
    settings.ADDRESS = "http://localhost:8000"

    mail = letters.client_summary(book.own["made_id"]).message()

    # the URI must be one of HTTPS [RFC 8058, section 3.1]
    assert "List-Unsubscribe-Post" not in mail
    assert mail["List-Unsubscribe"].startswith("<http:")


@pytest.mark.parametrize("kind", ["notice", "copy", "answer"])
def test_what_the_law_may_ask_for_is_not_stopped_by_a_click(kind, book, reader):
    stop_letters(reader, on=date(2026, 7, 13))
    letter = {
        "notice": lambda: letters.notice(book.own["later_id"], client=reader.pk),
        "copy": lambda: letters.record_copy(book.own["record_id"], reader.pk),
        "answer": lambda: letters.day_answer(book.own["asked_id"], reader.pk),
    }[kind]()
    mail = letter.message()

    assert "List-Unsubscribe" not in mail
    assert letter.to == [reader.email]


def test_one_click_of_a_mail_program_stops_letters_twice_as_well_as_once(reader):
    program = Browser(enforce_csrf_checks=True)  # it brings no cookie and no mark of a page

    answers = [
        program.post(path_of(reader), {"List-Unsubscribe": "One-Click"}).status_code for _ in "12"
    ]

    assert answers == [200, 200]
    assert stopped(reader)


def test_a_look_at_the_address_stops_nothing(reader):
    # programs that scan mail follow every link [RFC 8058, section 1]
    answer = Browser().get(path_of(reader))

    assert answer.status_code == 200
    assert "Stop these letters" in answer.content.decode()
    assert not stopped(reader)


@pytest.mark.parametrize(
    "token",
    [
        pytest.param(lambda pk: signing.dumps(pk, salt="another"), id="signed for something else"),
        pytest.param(lambda pk: signing.dumps(pk, salt=SALT)[:-1], id="cut off"),
        pytest.param(lambda pk: signing.dumps(999_999, salt=SALT), id="of nobody"),
        pytest.param(str, id="not signed"),
    ],
)
def test_a_token_of_nobody_stops_nothing(token, reader):
    assert Browser().post(f"/c/stop/{token(reader.pk)}/").status_code == 404
    assert not stopped(reader)


def test_a_letter_written_down_before_the_stop_does_not_go_out(book, reader):
    stop_letters(reader, on=date(2026, 7, 13))

    with pytest.raises(letters.NobodyToTell, match="stopped letters"):
        letters.client_summary(book.own["made_id"])
    with pytest.raises(letters.NobodyToTell, match="stopped letters"):
        letters.estimate(book.own["estimate_id"], reader.pk)


def test_no_summary_is_written_down_for_who_has_stopped_letters(book, reader):

    Outbox.objects.filter(kind=Outbox.Kind.CLIENT_SUMMARY).delete()
    stop_letters(reader, on=date(2026, 7, 13))
    visit = Visit.objects.get(pk=book.own["made_id"])

    _queue_summary(visit, NOW)

    assert not Outbox.objects.filter(kind=Outbox.Kind.CLIENT_SUMMARY).exists()


def test_the_stop_stands_on_card_and_page_and_the_client_ends_it(book, reader):
    stop_letters(reader, on=date(2026, 7, 13))
    office, own = Browser(), Browser()
    office.force_login(next(iter(book.people.values())))
    own.get(f"/c/{make_link(reader, now=NOW)}")

    assert (
        "summaries and proposals stopped on"
        in office.get(f"/clients/{reader.pk}/").content.decode()
    )
    assert "copies of records alone" in own.get("/client/").content.decode()
    own.post("/client/wishes/", {"language": "en", "wants_letters": "on"})
    assert not stopped(reader)
    own.post("/client/wishes/", {"language": "en"})
    assert stopped(reader)

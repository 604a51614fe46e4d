"""Whatever is typed stays text, on every page and paper; what is no text is refused."""

from html import unescape
from itertools import cycle

import pytest
from django.core.cache import cache
from django.db import transaction

from clients.models import Client, Property
from tests.architecture.addresses import addresses
from tests.architecture.hostile import REFUSED, TEXTS, harm_in
from tests.filling import send
from treatments.models import Business, Rotation

pytestmark = pytest.mark.django_db

# Which texts each address of the API takes, by the length they may have.
TEXTS_OF_API = {
    "clients/{client_id}": {"name": 200, "phone": 40, "street": 200, "note": 4000},
    "properties/{property_id}": {
        "name": 200,
        "street": 200,
        "city": 100,
        "minded_note": 1000,
        "access_note": 1000,
        "gate_code": 60,
        "nearest_hospital": 200,
    },
    "plantings/{planting_id}": {"name": 200, "common_name": 100, "species": 100, "note": 1000},
    "products/{product_id}": {"name": 100},
    "pests/{pest_id}": {"common_name": 100, "scientific_name": 100, "threshold_source": 100},
    "applicators/{applicator_id}": {"name": 100},
    "crews/{crew_id}": {"name": 100},
    "trucks/{truck_id}": {"name": 100},
    "yards/{yard_id}": {"name": 100, "address": 200},
    "sprayers/{sprayer_id}": {"name": 100},
}
SOUGHT = [
    "/search/",
    "/properties/",
    "/records/",
    "/week/",
    "/courses/new/",
    "/rotations/",
    "/people/",
]


@pytest.fixture(autouse=True)
def refusals_are_quiet(caplog):
    """Refusals are meant."""
    caplog.set_level("ERROR", "django.request")


@pytest.fixture
def office(visitor):
    """The owner, who may write everywhere."""
    return visitor("owner")


def change(browser, address, told):
    """Change a thing through the API under its version."""
    read = browser.get(address)
    assert read.status_code == 200, address
    under = {"headers": {"If-Match": read["ETag"]}} if "ETag" in read else {}
    return browser.patch(address, told, content_type="application/json", **under)


def write_everywhere(browser, deal, things):
    """Put a text into each name and note through the API; return what was not taken.

    Each field takes the next text, so that a few deals bring every kind to most fields.
    """
    texts, wrong = cycle([*TEXTS.values()][deal:] + [*TEXTS.values()][:deal]), []
    for address, lengths in TEXTS_OF_API.items():
        told = {name: next(texts)[:length] for name, length in lengths.items()}
        answer = change(browser, f"/api/v1/{address.format(**things)}/", told)
        if answer.status_code != 200:
            wrong.append((address, answer.status_code, answer.content.decode()[:300]))
    return wrong


def write_the_rest(text):
    """Put a text where the API has no field for it."""
    Business.objects.update(name=text[:200], street=text[:200])
    Rotation.objects.update(name=text[:100], note=text)


def everything_opened(browsers, things):
    """Yield each address that opens to one of these people, with its answer."""
    for browser in browsers:
        cache.clear()
        for address in addresses():
            if "get" in address.rights:
                with transaction.atomic():
                    yield address.route, browser.get(address.filled(things))


@pytest.mark.slow
@pytest.mark.once  # that either database keeps each text is seen of names, below
@pytest.mark.parametrize("deal", range(0, len(TEXTS), 3))
def test_a_text_does_nothing_on_any_page_or_paper(deal, office, visitor, things):
    not_taken = write_everywhere(office, deal, things)
    write_the_rest([*TEXTS.values()][deal])

    answers = list(everything_opened([office, visitor("client")], things))

    assert not_taken == []
    wrong = [route for route, answer in answers if answer.status_code >= 500 or harm_in(answer)]
    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("kind", TEXTS)
def test_a_name_reads_on_its_page_as_it_was_typed(kind, office, book, things):
    told = " ".join(TEXTS[kind].split())
    change(office, f"/api/v1/clients/{book.own['client_id']}/", {"name": told})

    page = office.get(f"/clients/{book.own['client_id']}/").content.decode()

    assert told in " ".join(unescape(page).split())


@pytest.mark.parametrize("kind", TEXTS)
def test_a_name_typed_on_a_page_comes_back_in_its_form(kind, office, book):
    address = f"/clients/{book.own['client_id']}/edit/"
    told = " ".join(TEXTS[kind].split())

    answer = send(office, office.get(address), "name", name=told, note=TEXTS[kind])

    assert answer.status_code == 302
    assert Client.objects.get(pk=book.own["client_id"]).name == told
    assert harm_in(office.get(address)) == []


@pytest.mark.parametrize("kind", REFUSED)
@pytest.mark.parametrize("address", TEXTS_OF_API)
def test_what_is_no_text_is_refused_by_the_api(kind, address, office, things):
    for name in TEXTS_OF_API[address]:
        answer = change(office, f"/api/v1/{address.format(**things)}/", {name: REFUSED[kind]})

        assert answer.status_code == 400, name


@pytest.mark.parametrize("kind", REFUSED)
def test_what_is_no_text_is_refused_when_something_is_entered(kind, office, things):
    wrong = []
    for address in addresses():
        if address.route.startswith("api/v1/") and "post" in address.rights:
            told = dict.fromkeys(
                ["name", "note", "reason", "outcome", "lot_number", "number"], REFUSED[kind]
            )
            answer = office.post(
                address.filled(things),
                told,
                content_type="application/json",
                headers={"Idempotency-Key": "one"},
            )
            if answer.status_code >= 500:
                wrong.append((address.route, answer.status_code))

    assert wrong == []


@pytest.mark.parametrize("kind", [*TEXTS, "NUL"])
@pytest.mark.parametrize("address", SOUGHT)
def test_what_is_looked_for_is_text(kind, address, office):
    words = {**TEXTS, **REFUSED}[kind]
    asked = dict.fromkeys(["words", "lot", "product", "applicator", "first", "page"], words)

    answer = office.get(address, asked)

    assert answer.status_code == 200
    assert harm_in(answer) == []


def test_a_page_refuses_what_is_no_text(office, book):
    address = f"/clients/{book.own['client_id']}/edit/"

    answer = send(office, office.get(address), "name", name=REFUSED["NUL"])

    assert answer.status_code == 422


def test_a_mail_takes_no_header_from_a_name(office, book, mailoutbox, things):
    from services.models import Visit
    from services.telling.letters import client_summary

    Property.objects.filter(pk=book.own["property_id"]).update(name=TEXTS["newline for a header"])
    visit = Visit.objects.get(pk=book.own["made_id"])

    client_summary(visit.pk).send()

    (mail,) = mailoutbox
    assert "hostile@example.org" not in mail.message().get_all("Bcc", [])
    assert mail.recipients() == ["reader@example.org"]

"""The pages on which files are brought: who may, what they show, and that each step works."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from clients.models import Client
from services.models import Bringing


@pytest.fixture
def office(client, dispatcher):
    client.force_login(dispatcher)
    return client


def send(browser, text, kind="clients"):
    file = SimpleUploadedFile("c.csv", text.encode(), "text/csv")
    return browser.post(reverse("services:bring"), {"kind": kind, "file": file}, follow=True)


def press(browser, name):
    row = Bringing.objects.latest("pk")
    return browser.post(reverse(f"services:{name}_bringing", args=[row.pk]), follow=True)


def test_a_file_is_sent_looked_at_confirmed_and_undone(office):
    looked = send(office, "name,street\r\nInk Club,7 Pen Road\r\n")
    assert b"Nothing is written yet" in looked.content
    assert not Client.objects.exists()

    kept = press(office, "confirm")
    assert b"One row was kept" in kept.content
    assert Client.objects.get().name == "Ink Club"

    undone = press(office, "undo")
    assert b"What it brought was undone" in undone.content
    assert not Client.objects.exists()


def test_faults_stand_with_row_and_column_and_there_is_nothing_to_confirm(office):
    page = send(office, "name,email\r\nInk,nowhere\r\n").content.decode()

    assert '<th scope="row" class="number">2</th><td>B email</td>' in page
    assert "Keep" not in page


def test_what_a_file_says_is_shown_as_text(office):
    page = send(office, "name,email,<b>x</b>\r\nInk,<script>alert(1)</script>,1\r\n").content

    assert b"<script>alert" not in page
    assert b"<b>x</b>" not in page


def test_the_page_asks_the_book_as_often_however_much_it_holds(office, count_queries):
    before = count_queries("/bring/")
    Client.objects.bulk_create(Client(name=f"Client {n}") for n in range(50))

    assert count_queries("/bring/") == before <= 8


def test_a_file_is_given_up(office):
    send(office, "name\r\nInk\r\n")

    press(office, "give_up")

    assert press(office, "confirm").status_code == 200
    assert Bringing.objects.get().content is None
    assert not Client.objects.exists()


def test_a_large_file_is_left_to_the_worker(office):
    rows = "".join(f"Client number {n},{n} Way\r\n" for n in range(2_000))

    page = send(office, f"name,street\r\n{rows}")

    assert b"is being looked at" in page.content
    assert Bringing.objects.get().is_waiting


def test_a_missing_file_is_asked_for(office):
    answer = office.post(reverse("services:bring"), {"kind": "clients"})

    assert answer.status_code == 422


@pytest.mark.parametrize("kind", ["products", "label-rates", "ingredients", "pests"])
def test_labels_are_brought_by_the_owner_alone(kind, office, owner):
    address = reverse("services:blank", args=[kind, "csv"])
    assert office.get(address).status_code == 403
    assert send(office, "name\r\nInk\r\n", kind=kind).status_code == 422

    office.force_login(owner)

    assert office.get(address).status_code == 200


def test_a_file_of_labels_is_not_shown_to_the_office(client, owner, dispatcher):
    client.force_login(owner)
    send(client, "name\r\nInk\r\n", kind="products")
    client.force_login(dispatcher)

    assert client.get(f"/bring/{Bringing.objects.get().pk}/").status_code == 403
    assert b"c.csv" not in client.get("/bring/").content


@pytest.mark.parametrize("address", ["clients.pdf", "people.csv"])
def test_there_is_no_other_file_to_fill_in(office, address):
    assert office.get(f"/bring/blanks/{address}").status_code == 404


def test_a_place_without_coordinates_says_so_on_its_page(office, library):
    type(library).objects.filter(pk=library.pk).update(latitude=None, longitude=None)

    page = office.get(reverse("services:property", args=[library.pk]))

    assert b"Where it lies is not known" in page.content
    assert b"not located yet" in office.get("/properties/").content

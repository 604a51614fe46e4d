"""What is found by words: of each kind, by each role, and never again once it is gone."""

from datetime import UTC, datetime

import pytest
from django.db import connection

from clients.models import Client
from services.removing import remove_client
from services.searching import search
from services.searching.finding import READ_BACK, SHOWN
from services.searching.index import check_index, install_index, tidy, triggers_in_place
from services.searching.statements import CLIENTS, TABLE
from services.searching.words import words_of
from treatments.disposing import dispose_of
from treatments.models import ApplicationRecord, InspectorGrant, Lot, Product
from treatments.recording import record_application

NOW = datetime(2026, 7, 13, 15, tzinfo=UTC)


def found(user, text):
    """Return what is found, by the names of its kinds."""
    told = search(user, text, NOW)
    kinds = ("clients", "properties", "plantings", "lots", "records")
    return {kind: getattr(told, kind) for kind in kinds if getattr(told, kind)}


@pytest.fixture
def record(stated):
    return record_application(**stated)


@pytest.mark.parametrize(
    ("text", "kinds"),
    [
        ("reading", {"clients", "records"}),
        ("soc read", {"clients", "records"}),
        ("library", {"properties"}),
        ("rosa", {"plantings", "records"}),
        ("S-1", {"lots", "records"}),
        ("quiet soap", {"lots", "records"}),
        ("0-101", {"lots", "records"}),
        ("spider mite", {"records"}),
        ("555-0100", {"clients"}),
        ("reading nowhere-land", set()),
        ("", set()),
        ("—", set()),
    ],
)
def test_each_kind_is_found_by_the_beginnings_of_its_words(record, owner, text, kinds):
    assert set(found(owner, text)) == kinds


def test_accents_and_capitals_make_no_difference(owner):
    client = Client.objects.create(name="Núñez Gärtnerei")

    assert found(owner, "NUNEZ gart") == {"clients": [client]}
    assert found(owner, "núñez") == {"clients": [client]}


def test_what_is_changed_is_found_by_its_new_words_alone(reading_society, owner):
    Client.objects.filter(pk=reading_society.pk).update(name="Ink Club")

    assert found(owner, "ink") == {"clients": [reading_society]}
    assert found(owner, "reading") == {}


def test_a_lot_is_found_by_the_name_its_product_has_now(soap_lot, owner):
    Product.objects.update(name="Loud Soap")

    assert found(owner, "loud") == {"lots": [Lot.objects.get()]}
    assert found(owner, "quiet") == {}


def test_what_is_removed_is_not_found(reading_society, owner):
    reading_society.delete()

    assert found(owner, "reading") == {}


def test_the_name_of_a_removed_client_is_found_no_more(reading_society, owner):
    remove_client(reading_society, by=owner, at=NOW)

    assert found(owner, "reading") == {}
    assert found(owner, "former") == {"clients": [reading_society]}


def test_a_record_that_was_disposed_of_is_found_no_more(record, owner):
    dispose_of([record], by=owner, at=datetime(2056, 1, 1, tzinfo=UTC))

    assert found(owner, "spider") == {}
    assert ApplicationRecord.objects.count() == 1


def test_a_technician_finds_only_what_the_day_holds(
    record, technician, library, rose_bed, monkeypatch
):
    monkeypatch.setattr("clients.access.Reach.properties_of", staticmethod(lambda user: []))
    assert found(technician, "library") == {}

    reached = staticmethod(lambda user: [library.pk])
    monkeypatch.setattr("clients.access.Reach.properties_of", reached)

    assert found(technician, "library") == {"properties": [library]}
    assert found(technician, "rose bed") == {"plantings": [rose_bed], "records": [record]}
    assert found(technician, "reading") == {"records": [record]}


def test_a_technician_finds_the_stops_of_the_day(dispatched, technician, library, rose_bed, now):
    assert found(technician, "library") == {"properties": [library]}
    assert found(technician, "rose bed") == {"plantings": [rose_bed]}


def test_an_inspector_finds_records_within_the_grant_alone(record, inspector, grant):
    assert found(inspector, "reading") == {"records": [record]}

    InspectorGrant.objects.update(jurisdictions=["US-NJ"])
    assert found(inspector, "reading") == {}

    InspectorGrant.objects.update(jurisdictions=["US-PA"], first_day="2026-07-07")
    assert found(inspector, "reading") == {}

    InspectorGrant.objects.update(first_day="2026-07-06", last_day="2026-07-06")
    assert found(inspector, "reading") == {"records": [record]}


def test_an_inspector_finds_what_lies_behind_many_records_of_others(
    stated, inspector, grant, library
):
    first = record_application(**stated)
    type(library).objects.update(jurisdiction="US-PA")
    for _ in range(3):
        record_application(**stated)
    InspectorGrant.objects.update(jurisdictions=[], client=library.client)

    assert found(inspector, "reading")["records"][-1] == first


def test_without_a_grant_an_inspector_finds_nothing(record, inspector):
    assert found(inspector, "reading") == {}


def test_somebody_without_a_role_finds_nothing(record, django_user_model):
    assert found(django_user_model.objects.create_user("nobody"), "reading") == {}


def test_more_than_is_shown_is_said(owner):
    Client.objects.bulk_create(Client(name=f"Ink {n}") for n in range(20))

    told = search(owner, "ink", NOW)

    assert (len(told.clients), told.more) == (12, {"clients"})
    assert told.clients[0].name == "Ink 19"


@pytest.mark.parametrize("text", ["' OR 1", '"', "*", "ink*", "a:b", "(", "\\", "\0", "\ue000p1"])
def test_no_sign_is_taken_for_a_command(owner, library, text):
    assert set(found(owner, text)) <= {"properties"}
    assert "\ue000" not in "".join(words_of(text))


def test_the_index_is_written_anew_where_its_triggers_were_gone(reading_society, owner, db):
    name = f"{CLIENTS.table}_sought" + ("_new" if connection.vendor == "sqlite" else "")
    on_table = f" ON {CLIENTS.table}" if connection.vendor == "postgresql" else ""
    with connection.cursor() as cursor:
        cursor.execute(f"DROP TRIGGER {name}{on_table}")
    Client.objects.create(name="Ink Club")
    assert [error.id for error in check_index(databases=["default"])] == ["services.E001"]
    assert found(owner, "ink") == {}

    install_index()

    assert name in triggers_in_place()
    assert check_index(databases=["default"]) == []
    assert set(found(owner, "ink")) == {"clients"}


def test_what_left_the_index_leaves_its_pages_too(reading_society, owner):
    Client.objects.filter(pk=reading_society.pk).update(name="Ink Club")

    tidy()

    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute(f"SELECT group_concat(hex(block)) FROM {TABLE}_data")  # noqa: S608
            assert b"reading".hex().upper() not in cursor.fetchone()[0]


def test_the_box_stands_on_each_page_and_its_page_shows_what_is_found(client, record, owner):
    client.force_login(owner)

    page = client.get("/search/", {"words": "reading"}).content.decode()

    assert 'name="words"' in client.get("/store/").content.decode()
    assert f"/clients/{record.planting.property.client_id}/" in page
    assert f"/records/{record.number}/" in page


def test_nothing_found_and_nothing_asked_are_said(client, owner):
    client.force_login(owner)

    assert b"Nothing in the book" in client.get("/search/", {"words": "zzz"}).content
    assert client.get("/search/").status_code == 200


def test_a_technician_is_led_only_to_pages_that_open(client, technician, library, monkeypatch):
    reached = staticmethod(lambda user: [library.pk])
    monkeypatch.setattr("clients.access.Reach.properties_of", reached)
    client.force_login(technician)

    page = client.get("/search/", {"words": "library"}).content.decode()

    assert f"/properties/{library.pk}/" in page
    assert f"/clients/{library.client_id}/" not in page


def test_a_long_beginning_is_found_behind_newer_rows_that_begin_alike(owner):
    last = Client.objects.create(name="Readerly Press")
    Client.objects.bulk_create(Client(name=f"Reading {n}") for n in range(300))

    assert found(owner, "reader") == {"clients": [last]}
    assert len(search(owner, "readin", NOW).clients) == 12


def test_what_is_behind_all_rows_that_are_read_back_is_found(owner):
    behind = Client.objects.create(name="Willow Ferry Garden")
    Client.objects.bulk_create(Client(name=f"Aspen Garden {n}") for n in range(READ_BACK))

    assert found(owner, "willow") == {"clients": [behind]}
    assert found(owner, "garden willow") == {"clients": [behind]}
    assert found(owner, "garden ferry willow") == {"clients": [behind]}
    assert found(owner, "aspen willow") == {}
    assert len(found(owner, "aspen")["clients"]) == SHOWN

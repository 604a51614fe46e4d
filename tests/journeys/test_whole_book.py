"""The whole book taken along: what is in it, that it can be checked, and brought again."""

import csv
import json
import zipfile
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from hashlib import sha256
from io import StringIO

import pytest
import vobject
from django.apps import apps

from clients.models import Client, Planting, Property
from services import bringing, whole_book
from services.bringing import KINDS, Sent
from services.bringing.writing import lines_of
from services.models import BookExport, Estimate, StatementPaper
from services.sheets.geojson import Feature, geojson_lines
from services.sheets.vcards import Card, folded, vcards
from services.whole_book.tables import APPS, LEFT_OUT
from tests.conftest import drop_guards
from treatments.models import (
    ActiveIngredient,
    EarlierApplication,
    JournalEntry,
    LabelRate,
    Lot,
    Pest,
    Product,
    ProductIngredient,
    StockEntry,
)
from treatments.naming import take_in_known_names
from treatments.storekeeping import receive_lot

NOW = datetime(2026, 7, 13, 15, tzinfo=UTC)


@pytest.fixture(autouse=True)
def exports_of_its_own(settings, tmp_path):
    settings.EXPORT_ROOT = tmp_path / "exports"


def made(owner):
    row = whole_book.ask(by=owner, language="en", now=NOW)
    assert whole_book.run_export(row.pk, now=NOW)
    row.refresh_from_db()
    return row


def opened(row):
    return zipfile.ZipFile(whole_book.file_of(row))


def table(archive, name):
    text = archive.read(name).decode("utf-8-sig")
    return list(csv.DictReader(StringIO(text, newline="")))


def test_the_manifest_tells_each_file_as_it_is(book, owner):
    row = made(owner)

    with opened(row) as archive:
        manifest = json.loads(archive.read("manifest.json"))
        names = [each["name"] for each in manifest["files"]]
        assert [*names, "manifest.json"] == archive.namelist()
        assert manifest["count"] == len(names) > 100
        for each in manifest["files"]:
            data = archive.read(each["name"])
            assert (sha256(data).hexdigest(), len(data)) == (each["sha256"], each["size"])
        assert archive.testzip() is None
    data = whole_book.file_of(row).read_bytes()
    assert (row.size, row.sha256) == (len(data), sha256(data).hexdigest())


def test_tables_hold_what_the_book_holds(book, owner):
    with opened(made(owner)) as archive:
        clients = table(archive, "tables/clients-client.csv")
        records = json.loads(archive.read("tables/treatments-applicationrecord.json"))
        pdf = archive.read("records/records.pdf")

    assert {each["name"] for each in clients} == set(Client.objects.values_list("name", flat=True))
    assert {each["number"] for each in records} >= {book.own["number"], book.foreign["number"]}
    assert pdf.startswith(b"%PDF")


def test_no_password_and_no_token_leaves_the_book(book, owner):
    with opened(made(owner)) as archive:
        everything = b"".join(archive.read(name) for name in archive.namelist())

    assert owner.password.encode() not in everything
    for secret in (book.token, book.phone_token):
        assert secret.encode() not in everything


def test_every_table_is_taken_along_or_left_out_for_a_reason(book, owner):
    every = {
        model._meta.label_lower
        for app in APPS
        for model in apps.get_app_config(app).get_models(include_auto_created=True)
    }
    with opened(made(owner)) as archive:
        told = {name.removeprefix("tables/").removesuffix(".csv") for name in archive.namelist()}

    assert set(LEFT_OUT) <= every
    assert {label for label in every if label.replace(".", "-") not in told} == set(LEFT_OUT)


def test_the_export_stands_in_the_journal_by_its_hash(book, owner):
    row = made(owner)

    entry = JournalEntry.objects.latest("seq")

    papers = {each["name"]: each["sha256"] for each in json.loads(entry.body)["papers"]}
    assert papers["book.zip"] == row.sha256
    assert set(papers) == {"book.zip", "manifest.json"}


def test_a_worker_that_stops_is_followed_by_one_that_goes_on(book, owner):
    row = whole_book.ask(by=owner, language="en", now=NOW)

    turns = 1
    while not whole_book.run_export(row.pk, now=NOW, seconds=0.05):
        turns += 1
        assert turns < 1_000  # on a busy machine a turn is a single table or paper

    row.refresh_from_db()
    assert turns > 1
    with opened(row) as archive:
        assert archive.testzip() is None
    assert not (whole_book.file_of(row).parent / "parts").exists()


def test_asked_twice_it_is_made_once_and_run_twice_it_is_journaled_once(book, owner):
    row = whole_book.ask(by=owner, language="en", now=NOW)
    assert whole_book.ask(by=owner, language="en", now=NOW) == row

    assert [whole_book.run_export(row.pk, now=NOW) for _ in range(2)] == [True, False]


def test_an_export_is_removed_when_its_days_are_over(book, owner):
    row = made(owner)

    whole_book.sweep_exports(datetime.now(UTC) + timedelta(days=8))

    row.refresh_from_db()
    assert not row.is_ready()
    assert not whole_book.file_of(row).exists()


def test_the_owner_asks_fetches_and_removes(client, book, owner):
    client.force_login(owner)
    client.post("/exports/")
    row = BookExport.objects.filter(asked_by=owner).get()
    assert client.get(f"/exports/{row.pk}/book.zip").status_code == 302
    whole_book.run_export(row.pk)

    answer = client.get(f"/exports/{row.pk}/book.zip")

    assert sha256(b"".join(answer.streaming_content)).hexdigest()
    assert b"Fetch it" in client.get("/exports/").content
    client.post(f"/exports/{row.pk}/remove/")
    assert client.get(f"/exports/{row.pk}/book.zip").status_code == 302


def fill(owner, library, rose_bed, soap, spider_mite):
    """Write of each kind what is hard to carry: signs, amounts, days, two of one name."""
    Client.objects.create(name="=Peña, “Ink” & Co.", street="5 Way", note="first\nsecond; third")
    twin = Client.objects.create(name=library.client.name, street="8 Other Street")
    Property.objects.create(
        client=twin, name="Library", street="9", city="X", postal_code="08560", jurisdiction="US-NJ"
    )
    hedge = Planting(
        property=library,
        name="-Hedge",
        common_name="box",
        species="Buxus",
        plant_group="ornamental shrub",
        habit="hedge",
        length_ft=Decimal("12.5"),
        width_ft=Decimal(3),
        edible=True,
        harvest_on=NOW.date(),
    )
    hedge.save()
    Product.objects.filter(pk=soap.pk).update(
        plants_excluded=["ferns", "sweet peas"],
        protective_equipment=[],
        price=Decimal("0.1250"),
        first_aid="Rinse.\nCall.",
    )
    soap.contents.update(maximum_pounds_per_acre_per_year=Decimal("0.4500"))
    soap.rates.create(plant_group="lawn", pest=spider_mite, minimum=1, maximum=2, basis="fl oz/gal")
    receive_lot(
        product=soap, lot_number="0012", amount=Decimal("7.125"), received_on=NOW.date(), by=owner
    )
    EarlierApplication.objects.create(
        planting=rose_bed,
        applied_on=NOW.date(),
        product=soap,
        product_name=soap.name,
        product_amount=Decimal("1.5"),
        product_unit="fl oz",
        taken_from="cards",
        taken_over_at=NOW,
    )


def test_what_was_taken_along_is_brought_into_an_empty_book(
    owner, library, rose_bed, soap, spider_mite
):
    take_in_known_names()
    fill(owner, library, rose_bed, soap, spider_mite)
    before = {name: "".join(lines_of(kind)) for name, kind in KINDS.items()}
    empty()

    for name, text in before.items():
        sent = Sent(name, f"{name}.csv", text.encode())
        row = bringing.ask(sent, by=owner, language="en", now=NOW)
        bringing.run_bringing(row.pk)
        row.refresh_from_db()
        assert row.found["faults"] == [], name
        if row.found["new"]:
            bringing.confirm(row, now=NOW)
            bringing.run_bringing(row.pk)

    for name, kind in KINDS.items():
        assert sorted("".join(lines_of(kind)).splitlines()) == sorted(before[name].splitlines())


def empty():
    """Take everything out of the book; the ledger's guards are lifted for it."""
    drop_guards()
    for model in (EarlierApplication, StockEntry, Lot, LabelRate, ProductIngredient, Product):
        model._base_manager.all()._raw_delete("default")
    for model in (Pest, ActiveIngredient, Planting, Property, Client):
        model._base_manager.all()._raw_delete("default")


def test_a_card_reads_in_another_program_as_it_was_written():
    card = Card(
        uid="urn:uuid:4fbe8971-0bc3-424c-9c26-36c3e1eff6b1",
        name="Peña, Ink; Sons \\ Co.",
        email="pena@example.org",
        phone="+1 555 0100",
        street="5 Page Lane",
        city="Nowhere",
        region="PA",
        postal_code="00000",
        note="first\nsecond, " + "long " * 40,
    )
    (text,) = vcards([card])

    read = vobject.readOne(text)

    assert read.fn.value == card.name
    assert read.note.value == card.note
    assert read.adr.value.street == "5 Page Lane"
    assert all(len(line.encode()) <= 75 for line in text.split("\r\n"))


# [RFC6350] section 3.2 cuts a line by octets, and no sign of several octets in two.
def test_a_line_is_cut_between_signs():
    lines = folded("NOTE:" + "ñ" * 60).split("\r\n")

    assert all(len(line.encode()) <= 75 for line in lines)
    assert lines[0] + lines[1].removeprefix(" ") == "NOTE:" + "ñ" * 60


# [RFC7946] sections 3.1.1 and 3.2: longitude first; a feature without a place has a null geometry.
def test_places_stand_with_longitude_first():
    told = json.loads(
        "".join(
            geojson_lines(
                [
                    Feature("a", Decimal("-74.85"), Decimal("40.25"), {"name": "Library"}),
                    Feature("b", None, None, {}),
                ]
            )
        )
    )

    assert told["type"] == "FeatureCollection"
    assert told["features"][0]["geometry"] == {"type": "Point", "coordinates": [-74.85, 40.25]}
    assert told["features"][1]["geometry"] is None


def test_papers_that_clients_were_given_are_in_it(book, owner):
    statement, estimate = StatementPaper.objects.earliest("pk"), Estimate.objects.earliest("pk")

    with opened(made(owner)) as archive:
        given = archive.read(f"statements/{statement.statement_id}.pdf")
        proposed = archive.read(f"estimates/{estimate.pk}.pdf")

    assert sha256(given).hexdigest() == statement.sha256
    assert sha256(proposed).hexdigest() == estimate.sha256

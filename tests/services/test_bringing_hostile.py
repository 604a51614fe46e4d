"""Files that were made to do harm, or came broken: told in words, never an error, never half kept.

Hypothesis breaks good files: cells, bytes, encodings, parts of the ZIP.  What may be
sent at all, and how much it may unpack to, is held in `test_bringing.py`.

`DUSKBOOK_DEPTH=20` breaks twenty times as many.
"""

import csv
import os
import re
import zipfile
from datetime import UTC, datetime
from io import BytesIO, StringIO

import pytest
import time_machine
from django.core.exceptions import ValidationError
from django.db import transaction
from django.urls import reverse
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from clients.models import Client, Planting, Property
from services import bringing
from services.bringing import KINDS, Sent
from treatments.models import (
    ActiveIngredient,
    EarlierApplication,
    LabelRate,
    Lot,
    Pest,
    Product,
    ProductIngredient,
    StockEntry,
)

pytestmark = pytest.mark.django_db

DEPTH = int(os.environ.get("DUSKBOOK_DEPTH", "1"))
BROKEN = settings(
    max_examples=25 * DEPTH,
    derandomize=DEPTH == 1,
    database=None,
    phases=[Phase.generate, Phase.shrink],
    suppress_health_check=list(HealthCheck),
)
NOW = datetime(2026, 7, 13, 15, tzinfo=UTC)
TABLES = [Client, Property, Planting, ActiveIngredient, Pest, Product, LabelRate]
TABLES += [ProductIngredient, Lot, StockEntry, EarlierApplication]

GOOD = {
    "clients": [{"name": "Ink Club", "street": "7 Pen Road", "postal code": "08530"}],
    "properties": [
        {
            "client": "Reading Society",
            "name": "Annex",
            "street": "9 Shelf Street",
            "city": "Nowhere",
            "postal code": "08560",
            "jurisdiction": "US-NJ",
            "latitude": "40.3",
            "longitude": "-74.7",
        }
    ],
    "plantings": [
        {
            "property": "Library",
            "name": "North hedge",
            "common name": "burning bush",
            "species": "Euonymus alatus",
            "plant group": "ornamental shrub",
            "habit": "hedge",
            "plants": "12",
            "length ft": "40",
            "width ft": "4",
            "bloom start": "05-20",
            "bloom end": "06-15",
            "harvest on": "2026-09-01",
            "edible": "yes",
        }
    ],
    "ingredients": [{"name": "sleeping agent", "irac group": "6"}],
    "pests": [{"common name": "invented mite", "scientific name": "Nullus nullus"}],
    "products": [
        {
            "name": "Quiet Oil",
            "epa registration number": "0-777",
            "formulation code": "EC",
            "ingredients": "mineral oil 80%",
            "reentry hours": "12",
            "rate plant group": "rose",
            "rate minimum": "1",
            "rate maximum": "2.5",
            "rate basis": "fl oz/gal",
        }
    ],
    "label-rates": [
        {
            "product": "Quiet Soap",
            "plant group": "lawn",
            "minimum": "1",
            "maximum": "2",
            "basis": "fl oz/gal",
        }
    ],
    "lots": [
        {
            "product": "Quiet Soap",
            "lot number": "B-7",
            "amount": "64",
            "received on": "2026-05-04",
            "expires on": "2028-05-04",
            "unit cost": "0.25",
        }
    ],
    "past-applications": [
        {
            "property": "Library",
            "planting": "Rose bed",
            "applied on": "2026-05-04",
            "product name": "Quiet Soap",
            "product amount": "6.5",
            "product unit": "fl oz",
            "treated area sq ft": "600",
        }
    ],
}
HOSTILE = [
    "",
    " ",
    "=1+1",
    '=HYPERLINK("http://198.51.100.7/","x")',
    "@SUM(A1)",
    "+1",
    "-1",
    "-0",
    "0",
    "1e5",
    "1E400",
    "1e-400",
    "1e999999",
    "NaN",
    "sNaN",
    "Infinity",
    "1_000",
    "0x1f",
    "9" * 400,
    "0." + "3" * 400,
    "١٢",
    "１２",
    "½",
    "12,5",
    "1;2",
    "2026-02-30",
    "0000-00-00",
    "9999-12-31",
    "10000-01-01",
    "31/12/2026",
    "02-29",
    "x" * 5_001,
    "x" * 100_000,
    "line\r\nline",
    '"',
    "\x00",
    "\x0b",
    "\x1b[31m",
    "\u202e\u2066",
    "\ufeff",
    "\u0130\u0131ß\ufb01",
    "e\u0301" * 300,
    "\U0001f41b",
    "\ue000\ufffe",
    "<script>alert(1)</script>",
    "{{ 7*7 }}%(name)s",
    "Robert'); DROP TABLE clients_client;--",
    "../../etc/passwd",
    "None",
    "true",
    "mineral oil 80%; mineral oil 80%",
    "mineral oil 1e400%",
    "mineral oil NaN%",
]
# What cannot stand in XML 1.0 (its section 2.2), and so in no workbook.
NO_XML = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
texts = st.one_of(st.sampled_from(HOSTILE), st.text(max_size=40))


def table_of(rows):
    """Return the heads and cells of good rows."""
    heads = list(rows[0])
    return [heads, *([row[head] for head in heads] for row in rows)]


@st.composite
def broken_tables(draw):
    """Return a kind, and a table of it in which some cells are hostile or out of place."""
    kind = draw(st.sampled_from(sorted(GOOD)))
    table = table_of(GOOD[kind] * draw(st.integers(1, 3)))
    for _n in range(draw(st.integers(1, 4))):
        row = draw(st.integers(0, len(table) - 1))
        column = draw(st.integers(0, len(table[0]) - 1))
        while len(table[row]) <= column:
            table[row].append("")
        table[row][column] = draw(texts)
    if draw(st.booleans()):
        table.append(draw(st.lists(texts, max_size=4)))
    if draw(st.integers(0, 5)) == 0:
        del table[draw(st.integers(0, len(table) - 1))]
    return kind, table


def csv_of(table, separator=","):
    written = StringIO(newline="")
    csv.writer(written, delimiter=separator).writerows(table)
    return written.getvalue()


@time_machine.travel(NOW, tick=False)
def workbook_of(table):
    """Return a workbook as bytes: the same at any time, as Hypothesis asks of what it breaks."""
    book = Workbook()
    for row in table:
        book.active.append([NO_XML.sub("", cell)[:32_000] for cell in row])
    written = BytesIO()
    book.save(written)
    return written.getvalue()


@pytest.fixture
def office(client, owner, rose_bed, soap_lot):
    """The owner's browser, before a book with a client, a bed and a lot."""
    ActiveIngredient.objects.create(name="mineral oil", separation_class="oil")
    client.force_login(owner)
    client.person = owner
    return client


def counted():
    return {table: table.objects.count() for table in TABLES}


def is_told_and_whole(office, kind, content, **asked):
    """Send a file, look at it, keep what may be kept: each told, nothing kept in part."""
    with transaction.atomic():
        before = counted()
        row = asked_about(Sent(kind, "a file", content, **asked), office.person)
        assert counted() == before
        if row is not None:
            assert office.get(reverse("services:bringing", args=[row.pk])).status_code == 200
            if row.is_to_be_confirmed():
                is_kept_whole(row, before)
        transaction.set_rollback(True)


def asked_about(sent, person):
    """Return what was found in a file; None where it is not even taken."""
    try:
        row = bringing.ask(sent, by=person, language="en", now=NOW)
    except ValidationError as refusal:
        if not refusal.messages:
            raise
        return None
    assert bringing.run_bringing(row.pk, now=NOW)
    row.refresh_from_db()
    told = row.found or {}
    assert told.get("faults") or told.get("rows", 0) == told.get("new", 0) + told.get("known", 0)
    return row


def is_kept_whole(row, before):
    """Say whether what a file brings is kept, and no more and no less than its row says."""
    assert bringing.confirm(row, now=NOW)
    assert bringing.run_bringing(row.pk, now=NOW)
    row.refresh_from_db()
    assert row.kept_at is not None, row.last_error
    made = {name: len(ids) for name, ids in row.made["rows"]}
    gained = {table._meta.label_lower: n - before[table] for table, n in counted().items()}
    assert made == {name: n for name, n in gained.items() if n}


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_the_good_files_that_are_broken_here_are_good(kind, office):
    row = bringing.ask(
        Sent(kind, "a file", csv_of(table_of(GOOD[kind])).encode()),
        by=office.person,
        language="en",
        now=NOW,
    )
    bringing.run_bringing(row.pk, now=NOW)
    row.refresh_from_db()

    assert row.found["faults"] == []
    assert row.is_to_be_confirmed()
    is_told_and_whole(office, kind, workbook_of(table_of(GOOD[kind])))


@BROKEN
@given(broken=broken_tables(), separator=st.sampled_from(",;\t"))
def test_hostile_cells_of_a_csv_file_are_told(broken, separator, office):
    kind, table = broken

    is_told_and_whole(office, kind, csv_of(table, separator).encode("utf-8", "surrogatepass"))


@BROKEN
@given(broken=broken_tables())
def test_hostile_cells_of_a_workbook_are_told(broken, office):
    kind, table = broken

    is_told_and_whole(office, kind, workbook_of(table))


@BROKEN
@given(
    kind=st.sampled_from(sorted(GOOD)),
    wrong=st.sampled_from(
        ["utf-8", "utf-16", "utf-16-be", "utf-32", "windows-1252", "utf-7", "shift_jis"]
    ),
    asked=st.sampled_from(["", "utf-8", "windows-1252", "utf-16"]),
    marked=st.booleans(),
    cells=st.text(alphabet="ñé½'’ A", max_size=9),
)
def test_a_wrong_encoding_is_told(kind, wrong, asked, marked, cells, office):
    table = table_of(GOOD[kind])
    table[1][0] = cells
    text = ("\ufeff" if marked else "") + csv_of(table)

    is_told_and_whole(office, kind, text.encode(wrong, "replace"), encoding=asked)


@BROKEN
@given(kind=st.sampled_from(sorted(GOOD)), workbook=st.booleans(), data=st.data())
def test_broken_bytes_are_told(kind, workbook, data, office):
    table = table_of(GOOD[kind])
    content = bytearray(workbook_of(table) if workbook else csv_of(table).encode())
    for _n in range(data.draw(st.integers(1, 6))):
        place = data.draw(st.integers(0, len(content)))
        much = data.draw(st.integers(0, 40))
        content[place : place + much] = data.draw(st.binary(max_size=40))

    is_told_and_whole(office, kind, bytes(content))


@pytest.mark.parametrize("packed", [zipfile.ZIP_DEFLATED, zipfile.ZIP_BZIP2, zipfile.ZIP_LZMA])
def test_a_part_that_does_not_unpack_is_told(packed, office):
    good = zipfile.ZipFile(BytesIO(workbook_of(table_of(GOOD["clients"]))))
    written = BytesIO()
    with zipfile.ZipFile(written, "w", packed) as archive:
        for name in good.namelist():
            archive.writestr(name, good.read(name))
        sheet = archive.getinfo("xl/worksheets/sheet1.xml")
    content = bytearray(written.getvalue())
    first = sheet.header_offset + 30 + len(sheet.filename)  # behind the part's own head
    content[first + 9 : first + 60] = b"\xff" * 51

    row = asked_about(Sent("clients", "a file", bytes(content)), office.person)

    assert "not a workbook that can be read" in str(row.found["faults"])


@BROKEN
@given(kind=st.sampled_from(sorted(GOOD)), data=st.data())
def test_broken_parts_of_a_workbook_are_told(kind, data, office):
    """The ZIP stays whole, so that what is broken reaches the reader of its XML."""
    parts = zipfile.ZipFile(BytesIO(workbook_of(table_of(GOOD[kind]))))
    broken = data.draw(st.sampled_from(parts.namelist()))
    written = BytesIO()
    with zipfile.ZipFile(written, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in parts.namelist():
            content = parts.read(name)
            if name == broken:
                content = data.draw(broken_xml(content))
            archive.writestr(name, content)

    is_told_and_whole(office, kind, written.getvalue())


def broken_xml(content):
    """Return ways to break a part: cut, emptied, swollen, with values that are none."""
    swaps = [(b't="inlineStr"', b't="s"'), (b't="inlineStr"', b't="d"'), (b't="s"', b't="n"')]
    swaps += [(b"<v>0</v>", b"<v>999999999</v>"), (b"<v>1</v>", b"<v>-1</v>")]
    swaps += [(b'r="1"', b'r="99999999999"'), (b"<t>", b"<t>" + b"y" * 70_000)]
    swaps += [(b"A1", b"ZZZZZZ1"), (b'r="2"', b'r="x"'), (b"<row", b"<row r='-3'><c t='e'><v>")]
    return st.one_of(
        st.just(b""),
        st.integers(0, len(content)).map(lambda place: content[:place]),
        st.sampled_from(swaps).map(lambda swap: content.replace(*swap)),
    )

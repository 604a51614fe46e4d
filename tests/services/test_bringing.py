"""Files that bring data: read, looked at, kept whole, brought once, and undone."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from io import BytesIO

import pytest
from openpyxl import Workbook

from clients.models import Client, Planting, Property
from services import bringing
from services.bringing import KINDS, Sent
from services.bringing.blanks import heads_of
from services.models import Bringing
from treatments.checking.books import open_book
from treatments.models import EarlierApplication, LabelRate, Lot, Product, StockEntry
from treatments.naming import take_in_known_names
from treatments.storekeeping import count_lot

NOW = datetime(2026, 7, 13, 15, tzinfo=UTC)

CLIENTS = (
    "name,street,postal code\r\nReading Circle,5 Page Lane,08560\r\nInk Club,7 Pen Road,08530\r\n"
)
PLACES = (
    "client,name,street,city,postal code,jurisdiction,latitude,longitude\r\n"
    "Reading Society,Annex,9 Shelf Street,Nowhere,8560,nj,,\r\n"
)
PLANTINGS = (
    "property,name,common name,species,plant group,habit,length ft,width ft\r\n"
    "Library,North hedge,burning bush,Euonymus alatus,ornamental shrub,hedge,40,4\r\n"
)
PAST = (
    "property,planting,applied on,product name,product amount,product unit,treated area sq ft\r\n"
    "{place},{planting},5/4/2026,{product},6.5,fl oz,900\r\n"
)


def look_at(kind, text, by=None, **asked):
    content = text if isinstance(text, bytes) else text.encode()
    row = bringing.ask(Sent(kind, f"{kind}.csv", content, **asked), by=by, language="en", now=NOW)
    bringing.run_bringing(row.pk, now=NOW)
    row.refresh_from_db()
    return row


def keep(row, now=NOW):
    said = bringing.confirm(row, now=now)
    bringing.run_bringing(row.pk, now=now)
    row.refresh_from_db()
    return said


def faults_of(row):
    return [(number, head) for number, _letter, head, _said in row.found["faults"]]


@pytest.mark.django_db
def test_nothing_is_written_until_it_is_confirmed():
    row = look_at("clients", CLIENTS)

    assert (row.found["rows"], row.found["new"], row.found["faults_in_all"]) == (2, 2, 0)
    assert not Client.objects.exists()


@pytest.mark.django_db
def test_a_confirmed_file_is_kept_and_its_content_goes():
    row = look_at("clients", CLIENTS)

    assert keep(row)

    assert set(Client.objects.values_list("name", flat=True)) == {"Reading Circle", "Ink Club"}
    assert row.content is None


@pytest.mark.django_db
def test_a_file_that_is_confirmed_twice_is_kept_once():
    row = look_at("clients", CLIENTS)

    assert [keep(row), keep(row)] == [True, False]
    again = look_at("clients", CLIENTS)

    assert Client.objects.count() == 2
    assert (again.found["new"], again.found["known"]) == (0, 2)
    assert not again.is_to_be_confirmed()


@pytest.mark.django_db
def test_a_file_with_a_fault_is_not_kept_in_part():
    row = look_at("clients", CLIENTS + "Nobody,1 Way,1,perhaps\r\n")

    with pytest.raises(Exception, match="nothing in the file"):
        bringing.confirm(row, now=NOW)

    assert not Client.objects.exists()


@pytest.mark.django_db
def test_a_double_in_the_file_is_brought_once_and_a_differing_one_is_a_fault():
    heads = "name,street,postal code,phone\r\n"
    row = look_at(
        "clients", f"{heads}Ink,7 Pen,08530,1\r\nInk,7 Pen,08530,1\r\nInk,7 Pen,08530,2\r\n"
    )

    assert faults_of(row) == [(4, "name")]
    assert row.found["hints"][0][:3] == [3, "A", "name"]


@pytest.mark.django_db
def test_what_the_book_tells_otherwise_is_shown_and_stays(reading_society):
    text = "name,street,postal code,phone\r\nreading society,2 Shelf Street,00000,555-0111\r\n"

    row = look_at("clients", text)

    assert (row.found["new"], row.found["known"]) == (0, 1)
    assert row.found["hints"][0][3].endswith("name, phone")
    reading_society.refresh_from_db()
    assert reading_society.phone == "555-0100"


@pytest.mark.django_db
def test_the_book_may_change_between_look_and_keeping():
    row = look_at("clients", CLIENTS)
    Client.objects.create(name="Ink Club", street="7 Pen Road", postal_code="08530")

    keep(row)

    assert Client.objects.count() == 1
    assert row.kept_at is None
    assert row.is_waiting
    assert "changed" in row.last_error
    bringing.run_bringing(row.pk, now=NOW + timedelta(hours=1))
    row.refresh_from_db()
    assert (row.found["new"], row.found["known"]) == (1, 1)


# [RFC4180] rules 5 to 7: quotes around a cell, with separators, ends of lines and quotes in it.
def test_csv_reads_as_its_standard_has_it():
    from services.bringing.reading import read_sheet

    text = 'name,note\r\n"Pen, Ink","says ""yes""\r\ntwice"\r\n'

    sheet = read_sheet(text.encode(), known=["name"])

    assert sheet.rows == [(2, ["Pen, Ink", 'says "yes"\r\ntwice'])]


@pytest.mark.parametrize(
    ("encoded", "encoding", "separator"),
    [
        ("name;note\r\nPeña;café\r\n".encode(), "utf-8", "semicolon"),
        ("name;note\r\nPeña;café\r\n".encode("utf-8-sig"), "utf-8", "semicolon"),
        ("name,note\r\nPeña,café\r\n".encode("windows-1252"), "windows-1252", "comma"),
        ("name\tnote\r\nPeña\tcafé\r\n".encode("utf-16"), "utf-16", "tab"),
    ],
)
def test_encodings_and_separators_are_told_apart(encoded, encoding, separator):
    from services.bringing.reading import read_sheet

    sheet = read_sheet(encoded, known=["name", "note"])

    assert (sheet.encoding, sheet.separator) == (encoding, separator)
    assert sheet.rows == [(2, ["Peña", "café"])]


@pytest.mark.django_db
def test_what_was_told_wrongly_may_be_asked_for():
    text = "name;street\r\nPeña, y;1 Way\r\n".encode("windows-1252")

    row = look_at("clients", text, encoding="windows-1252", separator="semicolon")

    assert row.found["new"] == 1
    assert row.found["words"] == ["Peña,"]


@pytest.mark.django_db
@pytest.mark.parametrize(
    "content", [b"", b"\r\n\r\n", b"nonsense\r\n1\r\n", b'name\r\n"open\r\n', b"PK\x03\x04 no zip"]
)
def test_what_is_no_table_is_refused_in_words(content):
    row = look_at("clients", content)

    assert row.found["faults_in_all"] == 1
    assert row.found["faults"][0][3]


@pytest.mark.django_db
def test_a_missing_and_a_double_column_are_told_and_an_unknown_one_is_named():
    row = look_at("clients", "street,street,colour\r\n1 Way,2 Way,blue\r\n")

    assert faults_of(row) == [(1, "street"), (1, "name")]
    assert row.found["unread"] == ["C: colour"]


@pytest.mark.django_db
def test_columns_may_be_called_as_the_pages_call_them():
    row = look_at("clients", "Nombre,ZIP code\r\nPeña,19067\r\n")

    assert (row.found["new"], row.found["unread"]) == (1, [])


@pytest.mark.django_db
def test_a_formula_is_never_taken_for_its_value():
    row = look_at("clients", 'name,street\r\nPen,"=HYPERLINK(""x"")"\r\n')

    assert faults_of(row) == [(2, "street")]


def workbook(*rows):
    book, file = Workbook(), BytesIO()
    for row in rows:
        book.active.append(row)
    book.save(file)
    return file.getvalue()


@pytest.mark.django_db
def test_a_workbook_reads_as_its_csv_does(soap, owner):
    heads = ["product", "lot number", "amount", "received on", "unit cost"]
    row = look_at(
        "lots", workbook(heads, [soap.name, "X-1", 12.5, date(2026, 3, 1), 0.1]), by=owner
    )

    keep(row)

    lot = Lot.objects.get(lot_number="X-1")
    assert (lot.received_on, lot.unit_cost, lot.left()) == (
        date(2026, 3, 1),
        Decimal("0.1"),
        Decimal("12.5"),
    )


@pytest.mark.django_db
def test_a_formula_in_a_workbook_is_a_fault_of_its_cell():
    row = look_at("clients", workbook(["name", "street"], ["Pen", "=1+1"]))

    assert row.found["faults"][0][:3] == [2, "B", "street"]


def packed(size):
    import zipfile

    file = BytesIO()
    with (
        zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive,
        archive.open("xl/worksheets/sheet1.xml", "w") as part,
    ):
        for _ in range(size // 1_000_000):
            part.write(b"0" * 1_000_000)
    return file.getvalue()


@pytest.mark.django_db
@pytest.mark.usefixtures("grows_little")
def test_a_workbook_that_would_unpack_to_a_flood_is_refused_unread():
    bomb = packed(200_000_000)
    assert len(bomb) < 300_000

    row = look_at("clients", bomb)

    assert "64 MB" in row.found["faults"][0][3]


@pytest.mark.django_db
def test_a_workbook_whose_xml_grows_by_entities_is_refused():
    import zipfile

    plain, file = workbook(["name"], ["Pen"]), BytesIO()
    grows = (
        b'<?xml version="1.0"?><!DOCTYPE w [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;">]>'
        b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'
        b"<sheetData><row><c t='inlineStr'><is><t>&b;</t></is></c></row></sheetData></worksheet>"
    )
    with zipfile.ZipFile(BytesIO(plain)) as old, zipfile.ZipFile(file, "w") as new:
        for part in old.namelist():
            new.writestr(part, grows if part.endswith("sheet1.xml") else old.read(part))

    row = look_at("clients", file.getvalue())

    assert "not a workbook" in row.found["faults"][0][3]


@pytest.mark.django_db
def test_a_row_far_down_does_not_make_a_million_empty_ones():
    book, file = Workbook(), BytesIO()
    book.active["A1"], book.active["A1000000"] = "name", "Pen"
    book.save(file)

    row = look_at("clients", file.getvalue())

    assert row.found["rows"] == 0


@pytest.mark.django_db
def test_a_property_without_coordinates_says_what_is_to_be_filled_in(reading_society):
    row = look_at("properties", PLACES)
    keep(row)

    annex = Property.objects.get(name="Annex")
    assert (annex.jurisdiction, annex.postal_code, annex.is_located()) == ("US-NJ", "08560", False)
    assert [hint[2] for hint in row.found["hints"]] == ["postal code", "latitude"]


@pytest.mark.django_db
def test_one_coordinate_alone_and_one_without_its_minus_are_faults(reading_society):
    heads = "client,name,street,city,postal code,jurisdiction,latitude,longitude\r\n"
    row = look_at(
        "properties",
        f"{heads}Reading Society,A,1 Way,X,19067,US-PA,40.2,\r\n"
        "Reading Society,B,1 Way,X,19067,US-PA,40.2,74.8\r\n"
        "Reading Society,C,1 Way,X,19067,US-PA,90.5,-74.8\r\n",
    )

    assert faults_of(row) == [(2, "longitude"), (3, "longitude"), (4, "latitude")]


@pytest.mark.django_db
def test_two_clients_of_one_name_are_told_apart_by_their_street(reading_society):
    Client.objects.create(name="Reading Society", street="8 Other Street")

    short = look_at("properties", PLACES)
    longer = look_at(
        "properties", PLACES.replace("ety,", 'ety, 2 Shelf Street",').replace("\nR", '\n"R')
    )

    assert "2 Shelf Street" in short.found["faults"][0][3]
    assert longer.found["new"] == 1


@pytest.mark.django_db
def test_a_planting_names_its_property(library):
    keep(look_at("plantings", PLANTINGS))

    hedge = Planting.objects.get(name="North hedge")
    assert (hedge.property, hedge.length_ft, hedge.faces) == (library, Decimal(40), 2)


@pytest.mark.django_db
def test_a_product_comes_with_what_it_holds_and_a_rate():
    take_in_known_names()
    heads = (
        "name,formulation code,ingredients,rate plant group,rate minimum,rate maximum,rate basis"
    )
    told = (
        "Quiet Oil,EC,malathion 80% 5.7 lb/gal 0.5 lb/acre/year; spinosad 0.5%,rose,1,2.5,fl oz/gal"
    )

    keep(look_at("products", f"{heads}\r\n{told}\r\n"))

    oil = Product.objects.get(name="Quiet Oil")
    rate, first = oil.rates.get(), oil.contents.get(ingredient__name="malathion")
    assert (rate.plant_group, rate.maximum, oil.contents.count()) == ("rose", Decimal("2.5"), 2)
    assert first.maximum_pounds_per_acre_per_year == Decimal("0.5")


@pytest.mark.django_db
def test_faults_of_a_product_are_told_at_its_parts():
    take_in_known_names()
    heads = "name,ingredients,rate plant group,rate minimum,rate maximum,rate basis\r\n"
    rows = [
        "A,malathion 101%,,,,",
        "B,unheard of 5%,,,,",
        "C,malathion,,,,",
        "D,malathion 80%,rose,3,2,fl oz/gal",
        "E,malathion 80%,rose,,2,fl oz/gal",
    ]

    row = look_at("products", heads + "\r\n".join(rows))

    assert faults_of(row) == [
        (2, "ingredients"),
        (3, "ingredients"),
        (4, "ingredients"),
        (5, "rate maximum"),
        (6, "rate minimum"),
    ]


@pytest.mark.django_db
def test_rates_are_known_by_product_site_pest_and_basis(soap, spider_mite):
    heads = "product,plant group,pest,minimum,maximum,basis\r\n"
    told = f"{soap.name},lawn,{spider_mite.common_name},1,2,fl oz/gal\r\n"

    keep(look_at("label-rates", heads + told))
    again = look_at("label-rates", heads + told)

    assert LabelRate.objects.filter(product=soap, plant_group="lawn").count() == 1
    assert again.found["known"] == 1


@pytest.mark.django_db
def test_a_past_application_is_no_record_and_counts_against_the_label(rose_bed, soap, owner):
    told = PAST.format(place="Library", planting=rose_bed.name, product=soap.name)
    keep(look_at("past-applications", told, by=owner))

    earlier = EarlierApplication.objects.get()
    history = open_book([soap.pk], [rose_bed], date(2026, 7, 13)).history[rose_bed.pk]

    assert (earlier.product, earlier.taken_over_by) == (soap, owner)
    assert earlier.taken_from == "past-applications.csv"
    assert [each.day for each in history] == [date(2026, 5, 4)]
    assert history[0].amount_per_1000_sq_ft is not None


@pytest.mark.django_db
@pytest.mark.parametrize(
    ("changed", "column"),
    [
        ({"planting": "Nowhere bed"}, "planting"),
        ({"place": "Nowhere"}, "property"),
    ],
)
def test_a_past_application_names_a_planting_of_the_book(rose_bed, soap, changed, column):
    told = {"place": "Library", "planting": rose_bed.name, "product": soap.name} | changed

    assert faults_of(look_at("past-applications", PAST.format(**told))) == [(2, column)]


@pytest.mark.django_db
def test_a_past_application_is_not_still_to_come(rose_bed, soap):
    told = PAST.format(place="Library", planting=rose_bed.name, product=soap.name)

    row = look_at("past-applications", told.replace("5/4/2026", "2099-01-01"))

    assert faults_of(row) == [(2, "applied on")]


@pytest.mark.django_db
def test_what_a_file_brought_is_undone_the_same_day(library, owner):
    row = look_at("plantings", PLANTINGS)
    keep(row)

    assert bringing.undo(row, by=owner, now=row.kept_at)
    assert not bringing.undo(row, by=owner, now=row.kept_at)

    assert not Planting.objects.filter(name="North hedge").exists()
    keep(look_at("plantings", PLANTINGS))
    assert Planting.objects.filter(name="North hedge").exists()


@pytest.mark.django_db
def test_what_a_file_brought_stays_from_the_next_day_on(library, owner):
    row = look_at("plantings", PLANTINGS)
    keep(row)

    with pytest.raises(Exception, match="on the day"):
        bringing.undo(row, by=owner, now=datetime.now(UTC) + timedelta(days=2))

    assert Planting.objects.filter(name="North hedge").exists()


@pytest.mark.django_db
def test_nothing_is_undone_once_something_was_built_upon_it(owner):
    row = look_at("clients", CLIENTS)
    keep(row)
    client = Client.objects.get(name="Ink Club")
    Property.objects.create(
        client=client, name="Nib", street="1", city="X", postal_code="1", jurisdiction="US-PA"
    )

    with pytest.raises(Exception, match="properties \\(1\\)"):
        bringing.undo(row, by=owner, now=row.kept_at)

    assert Client.objects.count() == 2


@pytest.mark.django_db
def test_nothing_is_undone_once_it_was_changed(owner):
    row = look_at("clients", CLIENTS)
    keep(row)
    Client.objects.filter(name="Ink Club").update(version=2)

    with pytest.raises(Exception, match="Ink Club was changed"):
        bringing.undo(row, by=owner, now=row.kept_at)


LOTS = (
    "product,lot number,amount,received on\r\n"
    "{name},X-1,12.5,2026-03-01\r\n{name},X-2,3,2026-03-01\r\n"
)


@pytest.mark.django_db
def test_lots_are_undone_by_a_line_of_the_ledger_and_may_come_again(soap, owner):
    text = LOTS.format(name=soap.name)
    row = look_at("lots", text, by=owner)
    keep(row)

    bringing.undo(row, by=owner, now=row.kept_at)

    lot = Lot.objects.get(lot_number="X-1")
    assert [str(line.amount) for line in lot.entries.order_by("pk")] == ["12.500", "-12.500"]
    assert lot.left() == 0
    again = look_at("lots", text, by=owner)
    assert again.found["new"] == 2
    keep(again)
    assert lot.left() == Decimal("12.5")
    assert look_at("lots", text).found["new"] == 0


@pytest.mark.django_db
def test_a_lot_that_was_used_is_not_taken_back(soap, owner):
    row = look_at("lots", LOTS.format(name=soap.name), by=owner)
    keep(row)
    count_lot(Lot.objects.get(lot_number="X-2"), counted=Decimal(2), by=owner)

    with pytest.raises(Exception, match="stock entries \\(1\\)"):
        bringing.undo(row, by=owner, now=row.kept_at)

    assert StockEntry.objects.count() == 3


@pytest.mark.django_db
def test_a_file_that_nobody_confirms_is_forgotten_after_a_day():
    row = look_at("clients", CLIENTS)

    bringing.sweep_bringings(datetime.now(UTC) + timedelta(days=2))

    row = Bringing.objects.get()
    assert row.content is None
    assert not row.is_waiting
    assert not row.is_to_be_confirmed()


@pytest.mark.django_db
def test_a_worker_that_was_killed_is_followed_by_another():
    row = bringing.ask(Sent("clients", "c.csv", CLIENTS.encode()), by=None, language="en", now=NOW)
    Bringing.objects.update(leased_until=NOW + timedelta(minutes=6), attempts=1)

    assert not bringing.run_bringing(row.pk, now=NOW)
    assert bringing.run_bringing(row.pk, now=NOW + timedelta(minutes=7))


@pytest.mark.django_db
@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("ending", ["csv", "xlsx"])
def test_the_files_to_fill_in_are_read_with_every_column_known(kind, ending):
    blank = KINDS[kind]()
    content = (
        "".join(bringing.blank_csv(blank)).encode()
        if ending == "csv"
        else bringing.blank_workbook(blank)
    )

    row = look_at(kind, content)

    assert (row.found["rows"], row.found["faults"], row.found["unread"]) == (0, [], [])
    assert all(each.endswith((".", "EPPO code.")) for each in bringing.explanations_of(blank))
    assert len(set(heads_of(blank))) == len(heads_of(blank))

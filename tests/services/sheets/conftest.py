"""One invented crew's day, one record and one letter to draw; nothing of it exists."""

import io
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pdfplumber
import pypdf
import pytest

from services.sheets import application_record as paper
from services.sheets import charts, client_summary, estimate, statement, visit_sheet
from services.sheets.layout import Imprint

DAY = datetime(2026, 6, 18, 20, tzinfo=UTC)
NOT_FREE_TEXT = {"language", "paper", "zone", "kind", "faces"}


def after(minutes):
    return DAY + timedelta(minutes=minutes)


@pytest.fixture
def imprint():
    return Imprint("Lantern Hedge (invented)", "DEMO-000", DAY, "555-0100", "1 River Road")


@pytest.fixture
def hedge():
    sizes = {"length_ft": Decimal(60), "width_ft": Decimal(4), "height_ft": Decimal(6)}
    return charts.PlantingShape("Burning bush hedge", "hedge", faces=("front", "top"), **sizes)


@pytest.fixture
def run():
    window = charts.Window(after(0), after(270), "access")
    dusk = charts.Window(after(200), after(270), "dusk")
    first = charts.RunStop("214 Fairview Lane", after(15), after(30), after(60), (window,))
    second = charts.RunStop("9 Orchard Court", after(200), after(210), after(250), (window, dusk))
    return charts.DayRun("Crew Heron", "Yard", after(-15), after(290), (first, second))


@pytest.fixture
def season():
    monday = date(2026, 5, 4)
    numbers = enumerate(["2.1", "8.2", "3.3", "0.8"])
    counts = [charts.Count(monday + timedelta(days=7 * i), Decimal(n)) for i, n in numbers]
    treatments = (
        charts.Treatment(date(2026, 5, 12), "Quietleaf Oil"),
        charts.Treatment(date(2026, 5, 20), "Mitestop 2 SC", "10B"),
    )
    bloom = charts.Span(date(2026, 6, 8), date(2026, 6, 20), "bloom")
    days = {"first": monday, "last": date(2026, 7, 5)}
    return charts.Season(
        "Rose bed",
        unit="mites per leaf",
        counts=tuple(counts),
        treatments=treatments,
        spans=(bloom,),
        threshold=Decimal(5),
        **days,
    )


@pytest.fixture
def stop(hedge):
    return visit_sheet.Stop(
        visit_sheet.StopPlace(
            address="214 Fairview Lane",
            town="Demo Springs, PA 19000",
            client="Adela Moorcroft",
            phone="555-0142",
            begins_at=after(30),
            ends_at=after(60),
            minded=("Koi pond 12 ft east: no spray within 25 ft.", "Beehives at the north fence."),
            access="side gate on the left, 4:00 pm to 8:30 pm",
            visit_address="https://duskbook.example/visits/42/",
            unverified_place="Pennsylvania",
        ),
        visit_sheet.StopTarget(3, 6, (hedge,), "1,240 sq ft of foliage", "two-spotted mite"),
        visit_sheet.StopProduct(
            name="Mitestop 2 SC",
            registration_number="00000-0142",
            active_ingredient="etoxazole 2.9 %",
            mode_of_action="IRAC 10B",
            signal_word="WARNING",
            lot="L-2291",
            expires_on=date(2027, 8, 31),
        ),
        visit_sheet.Mix(
            tanks=(
                visit_sheet.Tank(2, "12.8 fl oz", "100 gal"),
                visit_sheet.Tank(1, "5.2 fl oz", "41 gal"),
            ),
            total_product="30.8 fl oz",
            total_water="241 gal",
            rate="12.8 fl oz per 100 gal",
            label_rate="12.8 to 16 fl oz per 100 gal",
            order=("Fill the tank half with water.", "Add the product.", "Fill up."),
            sprayer_setting="hand gun, No. 5 disc, 120 psi",
        ),
        visit_sheet.Protection(
            ("long-sleeved shirt and long trousers", "chemical-resistant gloves", "shoes"),
            ("half mask", "organic-vapor cartridge", "P100 filter"),
        ),
        visit_sheet.Limits(wind="3 to 10 mph", temperature="at most 85 °F", rain="none for 4 h"),
        visit_sheet.Leaving(
            "Keep people and pets off until dry, and at least 12 hours.",
            "Post the sign at each entrance before spraying.",
            after(60 * 48),
        ),
    )


@pytest.fixture
def sheets(imprint, run, stop):
    day = visit_sheet.CrewDay(
        crew="Crew Heron",
        day=date(2026, 6, 18),
        people=(visit_sheet.Person("Ines Alvarado", "BU-000-A"),),
        truck="Truck 2",
        sprayer="200 gal skid sprayer",
        run=run,
        load=(visit_sheet.LoadLine("Mitestop 2 SC", "00000-0142", "L-2291", "84 fl oz"),),
        protection=("nitrile gloves",),
        signs=(visit_sheet.SignLine("Pennsylvania, 5 × 4 in", 4),),
        contacts=visit_sheet.EmergencyContacts("Rosa Tindall", "555-0111", "Demo General"),
    )
    return visit_sheet.VisitSheets(imprint, day, (stop, stop))


@pytest.fixture
def record():
    return paper.ApplicationRecord(
        number="2026-0142",
        times=paper.Times(after(60), after(90), after(62)),
        values={"product_name": "Mitestop 2 SC", "lot_number": "L-2291", "wind_speed": "4 mph"},
        rule_sets=(paper.RuleSet("PA", "Pennsylvania", "7 Pa. Code 128.35", verified=True),),
    )


@pytest.fixture
def amendment():
    change = paper.Change("lot_number", "L-2219", "L-2291")
    reason = "The lot was read from the wrong jug."
    return paper.Amendment(
        "2026-0147", after(900), "Rosa Tindall", reason, (change,), "I. Alvarado"
    )


@pytest.fixture
def records(imprint, record):
    log_head = paper.LogHead(1204, "3f2a9c" * 10 + "abcd", "duskbook.example\n1204\nPyqc\n")
    return paper.ApplicationRecords(imprint, (record,), log_head)


@pytest.fixture
def summary(imprint, season):
    done = client_summary.DoneLine(
        "Rose bed", "Mitestop 2 SC", "00000-0142", "etoxazole", "It stops mite eggs."
    )
    return client_summary.ClientSummary(
        imprint=imprint,
        client="Adela Moorcroft",
        address="214 Fairview Lane",
        done_at=after(60),
        keep_off_until=after(60 * 13),
        done=(done,),
        why="There were six mites on a leaf.",
        expect=("New leaves come green in three weeks.",),
        please=("Water the bed at its foot.",),
        next_visit_on=date(2026, 6, 25),
        season=season,
    )


@pytest.fixture
def bill(imprint):
    """A statement of one visit, with a tax and a payment."""
    line = statement.ChargedLine(date(2026, 6, 18), "Rose bed: week 2", "A visit", Decimal("85.00"))
    return statement.StatementSheet(
        imprint=imprint,
        number=7,
        client="Adela Moorcroft",
        address="Adela Moorcroft\n214 Fairview Lane",
        given_on=date(2026, 6, 30),
        first_day=date(2026, 6, 1),
        last_day=date(2026, 6, 30),
        lines=(line,),
        taxes=(statement.TaxLine("Tax", "US-PA", Decimal(6), Decimal("85.00"), Decimal("5.10")),),
        payments=(statement.PaidLine(date(2026, 6, 20), "by check", Decimal("50.00")),),
        lines_total=Decimal("85.00"),
        total=Decimal("90.10"),
        carried=Decimal("20.00"),
        balance=Decimal("60.10"),
    )


@pytest.fixture
def proposal(imprint, bill):
    """An estimate of one week."""
    line = estimate.ProposedLine(
        1, date(2026, 6, 18), "Mitestop 2 SC (etoxazole)", "A visit", Decimal("85.00")
    )
    return estimate.EstimateSheet(
        imprint=imprint,
        number=3,
        client="Adela Moorcroft",
        address="214 Fairview Lane",
        pest="two-spotted mite",
        plantings=("Rose bed",),
        found=("Rose bed: mites on 12 of 20 leaves.",),
        note="We looked at it together.",
        lines=(line,),
        taxes=bill.taxes,
        lines_total=Decimal("85.00"),
        total=Decimal("90.10"),
        valid_until=date(2026, 7, 18),
        unverified_place="Nowhere",
    )


@pytest.fixture
def text_of():
    """Return the words of a PDF with its line ends as spaces."""

    def read(pdf):
        pages = pypdf.PdfReader(io.BytesIO(pdf)).pages
        return " ".join(" ".join(page.extract_text() for page in pages).split())

    return read


@pytest.fixture
def pages_of():
    """Return the pages of a PDF as pdfplumber sees them: signs with face, size and place."""
    return lambda pdf: pdfplumber.open(io.BytesIO(pdf)).pages


@pytest.fixture
def filled_with():
    """Return a sheet in which every free text is the given one."""

    def fill(value, text):
        if isinstance(value, str):
            return text
        if isinstance(value, tuple):
            return tuple(fill(each, text) for each in value)
        if isinstance(value, Mapping):
            return {key: fill(each, text) for key, each in value.items()}
        if not is_dataclass(value):
            return value
        names = [field.name for field in fields(value)]
        kept = {name: getattr(value, name) for name in names if name in NOT_FREE_TEXT}
        rest = {n: fill(getattr(value, n), text) for n in names if n not in NOT_FREE_TEXT}
        return type(value)(**kept, **rest)

    return fill

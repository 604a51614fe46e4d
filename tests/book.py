"""A whole book to test with: one of everything, and the same once more for another client.

The second client's things are the foreign ones: the crew that does not go there, and the client
who does not own them, must not find them.
"""

from copy import deepcopy
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from io import BytesIO
from uuid import UUID, uuid4

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from reportlab.pdfgen.canvas import Canvas

from clients.access import Role
from clients.models import AccessWindow, Client, Neighbour, Planting, Property
from services.asking import ask_for_day
from services.completing import ApplicationReport, complete_visit
from services.courses import put_on
from services.devices import enrol, make_code
from services.dispatching import dispatch_day
from services.estimating import write_estimate
from services.holding import hold_visit
from services.models import (
    AskedPackage,
    BookExport,
    Bringing,
    ClientLink,
    CostRate,
    Crew,
    Dispatch,
    FieldEvent,
    Hold,
    Hook,
    Outbox,
    Planning,
    PriceRule,
    TaxRate,
    Technician,
    Truck,
    Visit,
)
from services.packages import ask_package, file_of, folder_of
from services.program_keys import make_key
from services.statements import correct_charge, give_out, note_payment
from services.telling import log_contact, make_feed, make_link, people_to_tell
from services.telling.stopping import stop_address
from treatments.correcting import correct_record
from treatments.inspecting import grant
from treatments.leftovers import note_leftover
from treatments.models import (
    ActiveIngredient,
    ApplicationRecord,
    FitTest,
    KeptPaper,
    LeftoverNote,
    ReturnFiled,
    Rotation,
    SpillNote,
    StockEntry,
    WeatherStation,
)
from treatments.papers import keep_paper
from treatments.rules.facts import Conditions
from treatments.rules.records import design_of, posting_for
from treatments.scouting import record_count
from treatments.signing import keep_own_sign
from treatments.spills import note_spill
from treatments.storekeeping import move_stock, receive_lot
from treatments.water_testing import keep_water_test

FIRST_MORNING = datetime(2026, 7, 6, 12, tzinfo=UTC)  # a Monday, 8:00 at the yard
FIRST_EVENING = datetime(2026, 7, 6, 22, 45, tzinfo=UTC)
NOW = datetime(2026, 7, 13, 11, 30, tzinfo=UTC)  # the second Monday, 7:30 at the yard
MONDAY = date(2026, 7, 13)
OWN_GATE, FOREIGN_GATE = "own-gate-77", "foreign-gate-88"


@dataclass
class Book:
    """What is in the book: people by role, and things by the name they have in an address."""

    people: dict[Role, object]
    own: dict[str, object] = field(default_factory=dict)
    foreign: dict[str, object] = field(default_factory=dict)
    token: str = ""
    foreign_token: str = ""
    phone_token: str = ""


@pytest.fixture
def now():
    """Stop the clock on the second Monday, while the crews are under way."""
    with time_machine.travel(NOW, tick=False) as clock:
        yield clock


@pytest.fixture
def quarry():
    """Another client's property, with a bed of roses as well."""
    client = Client.objects.create(name="Quarry Club", email="quarry@example.org", phone="555-0199")
    place = Property.objects.create(
        client=client,
        name="Quarry",
        street="3 Stone Road",
        city="Nowhere",
        postal_code="00000",
        jurisdiction="US-PA",
        latitude=Decimal("40.21"),
        longitude=Decimal("-74.79"),
        gate_code=FOREIGN_GATE,
    )
    return Planting.objects.create(
        property=place,
        name="Quarry bed",
        common_name="hybrid rose",
        species="Rosa hybrids",
        plant_group="rose",
        habit="bed",
        plants=10,
        length_ft=Decimal(20),
        width_ft=Decimal(10),
        height_ft=Decimal(3),
    )


@pytest.fixture
def own_folder(settings, tmp_path):
    """The folder of the book, with what is kept in files."""
    settings.DATA = settings.MEDIA_ROOT = tmp_path
    return tmp_path


@pytest.fixture
def book(
    now,
    own_folder,
    business,
    owner,
    dispatcher,
    technician,
    inspector,
    applicator,
    crew,
    sprayer,
    calibration,
    rose_bed,
    quarry,
    soap_lot,
    three_weeks,
):
    """The whole book, on the second Monday of both courses."""
    people = {
        Role.OWNER: owner,
        Role.OFFICE: dispatcher,
        Role.APPLICATOR: applicator.user,
        Role.TECHNICIAN: technician,
        Role.INSPECTOR: inspector,
    }
    book = Book(people)
    crew.truck.sprayers.add(sprayer)
    Technician.objects.create(user=applicator.user, crew=crew)
    rose_bed.property.client.email = "reader@example.org"
    rose_bed.property.client.save()
    rose_bed.property.gate_code = OWN_GATE
    rose_bed.property.save()
    now.move_to(FIRST_MORNING)
    put_in_store(three_weeks.weeks.get(week=2).product, "O-1", dispatcher)
    put_on_truck(soap_lot, crew, dispatcher)
    book.own = in_every_book(book, soap_lot, crew) | begun(book, rose_bed, three_weeks)
    book.foreign = begun(book, quarry, three_weeks)
    failed = Outbox.objects.filter(pk=book.own["outbox_id"])
    failed.update(arguments={"visit": book.own["made_id"], "client": rose_bed.property.client_id})
    hand_out(book, book.own["made_id"], FIRST_MORNING)
    now.move_to(FIRST_EVENING)
    book.own |= made_once(book.own, soap_lot, applicator)
    book.foreign |= made_once(book.foreign, soap_lot, applicator)
    book.own["correction_id"] = asked_by_the_office(book).pk
    book.own |= charged_once(book)
    book.foreign["statement_number"] = charged_too(book).number
    for names in (book.own, book.foreign):
        names["estimate_id"] = proposed(book, names).pk
    now.move_to(NOW)
    hand_out_second_week(book, crew)
    for things in (book.own, book.foreign):
        things["asked_id"] = asked_by_the_client(things).pk
    phones_of_both(book)
    book.token = make_link(rose_bed.property.client, now=NOW)
    book.foreign_token = make_link(quarry.property.client, now=NOW)
    book.own["stop_token"] = stop_address(rose_bed.property.client).rstrip("/").rpartition("/")[2]
    book.own |= {"token": book.token, "link_id": newest(ClientLink, rose_bed.property.client)}
    book.foreign |= {
        "token": book.foreign_token,
        "link_id": newest(ClientLink, quarry.property.client),
    }
    return book


def phones_of_both(book):
    """Enrol the technician's phone, which announces a photo; and one of a person elsewhere."""
    owner, technician = book.people[Role.OWNER], book.people[Role.TECHNICIAN]
    _waiting, code = make_code(technician, name="Phone one", by=owner, now=NOW)
    device, book.phone_token = enrol(code, now=NOW)
    _waiting, code = make_code(owner, name="Phone two", by=owner, now=NOW)
    foreign, _token = enrol(code, now=NOW)
    _waiting, book.own["code"] = make_code(technician, name="Phone three", by=owner, now=NOW)
    for names, phone, number in ((book.own, device, 1), (book.foreign, foreign, 2)):
        event = said_by(phone, number)
        photo = event.photos.create(device=phone, sha256=f"{number}" * 64, size=10)
        names |= {
            "device_id": phone.pk,
            "event_id": event.event_id,
            "photo": photo.sha256,
            "photo_id": photo.pk,
        }


def said_by(phone, number):
    return FieldEvent.objects.create(
        event_id=UUID(int=(7 << 76) | (2 << 62) | number),
        device=phone,
        device_seq=1,
        person=phone.person,
        kind=FieldEvent.Kind.NOTE,
        received_at=NOW,
        told="{}",
        result=FieldEvent.Result.FLAGGED,
        needs_review=True,
    )


@pytest.fixture
def things(book):
    """What stands in addresses: by name, the person's own."""
    places = {"monday": f"{MONDAY:%G-W%V}", "day": MONDAY.isoformat()}
    owner = book.people[Role.APPLICATOR]
    return (
        places
        | book.own
        | {
            "technician_id": Technician.objects.get(user=owner).pk,
            "entry_id": StockEntry.objects.earliest("pk").pk,
        }
    )


def newest(kind, client):
    return kind.objects.filter(client=client).latest("pk").pk


def put_in_store(product, lot_number, by):
    """Receive two gallons of a product."""
    return receive_lot(
        product=product,
        lot_number=lot_number,
        amount=Decimal(256),
        received_on=date(2026, 3, 2),
        expires_on=date(2028, 3, 1),
        by=by,
    )


def put_on_truck(lot, crew, by):
    """Move two ounces of a lot to the truck of a crew."""
    places = {"origin": None, "destination": crew.truck.locker}
    return move_stock(lot, amount=Decimal(2), by=by, **places)


def in_every_book(book, lot, crew):
    """Return what belongs to no client, by the names in addresses."""
    applicator = book.people[Role.APPLICATOR].applicator
    return {
        "product_id": lot.product_id,
        "lot_id": lot.pk,
        "thing_id": ActiveIngredient.objects.get(name="mineral oil").pk,
        "applicator_id": applicator.pk,
        "certificate_id": applicator.certificates.get().pk,
        **kept_of(applicator, lot.product, book.people[Role.OWNER]),
        "sprayer_id": crew.truck.sprayers.get().pk,
        "calibration_id": applicator.calibrations.get().pk,
        "crew_id": crew.pk,
        "truck_id": crew.truck.pk,
        "yard_id": crew.yard_id,
        "user_id": book.people[Role.INSPECTOR].pk,
        "outbox_id": failed_letter().pk,
        "planning_id": planned_anew().pk,
        "bringing_id": file_brought().pk,
        "export_id": BookExport.objects.create(asked_at=FIRST_MORNING).pk,
        "feed_token": make_feed(crew, by=book.people[Role.OFFICE], now=FIRST_MORNING),
        "feed_id": crew.feeds.get().pk,
        "grant_id": opened_to_inspector(book).pk,
        "package_id": packed_for_the_owner(book).pk,
        "leftover_id": left_over(book, lot.product).pk,
        "filed_id": filed_before(book).pk,
        "own_sign_id": taken_from_the_code(book).pk,
        **opened_to_programs(book.people[Role.OWNER]),
        **weather_days(),
    }


def left_over(book, product):
    """Note what the technician had left over."""
    return note_leftover(
        kind=LeftoverNote.Kind.MIX,
        product=product,
        gallons=Decimal("0.5"),
        done=LeftoverNote.Done.SPRAYED_OVER,
        note="on the same roses",
        happened_on=FIRST_MORNING.date(),
        by=book.people[Role.TECHNICIAN],
    )


def filed_before(book):
    """Note that a return was filed, of a year of which the book has no record."""
    return ReturnFiled.objects.create(
        jurisdiction="US-NY",
        first_day=date(2020, 1, 1),
        filed_on=date(2021, 1, 20),
        how="by post",
        filed_by=book.people[Role.OWNER],
    )


def taken_from_the_code(book):
    """Keep a sign of Ohio as the owner took it from the code; its words are invented here."""
    return keep_own_sign(
        design=design_of(posting_for("US-OH")),
        told={
            "width_in": Decimal(5),
            "height_in": Decimal(4),
            "background": "white",
            "lettering": "black",
            "parts": [{"words": "Invented words of %(business)s", "points": "24"}],
            "back": [],
            "citation": "An invented figure",
            "compared_on": FIRST_MORNING.date(),
        },
        by=book.people[Role.OWNER],
        at=FIRST_MORNING,
    )


def packed_for_the_owner(book):
    """Pack a record that the owner asked for."""
    by = book.people[Role.OWNER]
    row = ask_package([1], language="en", with_notes=True, by=by, now=FIRST_EVENING)
    AskedPackage.objects.update(done_at=FIRST_EVENING)
    folder_of(row).mkdir(parents=True, exist_ok=True)
    file_of(row).write_bytes(b"PK a package")
    return row


def paper_of(words):
    """Return a PDF of one line."""
    written = BytesIO()
    canvas = Canvas(written, invariant=True)
    canvas.drawString(72, 720, words)
    canvas.save()
    return written.getvalue()


def opened_to_programs(owner):
    """Make a key for a program, and an address that is called."""
    make_key(
        owner,
        name="Accounts",
        scopes=["read"],
        expires_on=date(2027, 1, 1),
        by=owner,
        now=FIRST_MORNING,
    )
    hook = Hook.objects.create(
        name="Accounts",
        address="https://books.example.org/calls",
        events=[Hook.Event.VISIT_COMPLETED],
        made_at=FIRST_MORNING,
        made_by=owner,
    )
    return {"key_id": owner.program_keys.get().pk, "hook_id": hook.pk}


def kept_of(applicator, product, owner):
    """Keep a paper of the product, and note a fit test and gloves of a person."""
    paper = keep_paper(
        KeptPaper(product=product, kind=KeptPaper.Kind.LABEL),
        SimpleUploadedFile("label.pdf", paper_of("An invented label")),
        by=owner,
    )
    test = applicator.fit_tests.create(
        respirator="half mask",
        tested_on=FIRST_MORNING.date(),
        way=FitTest.Way.QUALITATIVE,
        passed=True,
        entered_by=owner,
    )
    issued = applicator.protection.create(
        item="nitrile gloves", issued_on=FIRST_MORNING.date(), entered_by=owner
    )
    spill = note_spill(
        happened_at=FIRST_MORNING,
        place="Yard",
        product=product,
        what=SpillNote.What.MIX,
        amount=Decimal(1),
        done="Taken up.",
        by=owner,
    )
    return {
        "paper_id": paper.pk,
        "test_id": test.pk,
        "issued_id": issued.pk,
        "spill_id": spill.pk,
    }


def opened_to_inspector(book):
    """Let the inspector look at all records of Pennsylvania."""
    return grant(
        inspector=book.people[Role.INSPECTOR],
        purpose="Department of Nowhere, yearly look",
        jurisdictions=["US-PA"],
        by=book.people[Role.OWNER],
        now=FIRST_MORNING,
    )


def asked_by_the_office(book):
    """Ask for a correction of the own record, which nobody has answered yet."""
    return correct_record(
        ApplicationRecord.objects.get(number=book.own["number"]),
        reason="The gloves were the long ones.",
        by=book.people[Role.OFFICE],
        at=FIRST_EVENING,
        protective_equipment="long gloves",
    )


def asked_by_the_client(own):
    """Let the client ask to be called about the last visit."""
    course = Visit.objects.get(pk=own["made_id"]).course
    last = course.visits.latest("planned")
    return ask_for_day(last, day=None, words="We are at the sea.", at=FIRST_EVENING)


def planned_anew():
    return Planning.objects.create(
        kind=Planning.Kind.REPLAN,
        first_day=MONDAY,
        last_day=MONDAY,
        asked_at=FIRST_MORNING,
        done_at=FIRST_MORNING,
    )


def file_brought():
    return Bringing.objects.create(
        kind="clients",
        file_name="clients.csv",
        sha256="0" * 64,
        content=b"name\r\nReading Circle\r\n",
        asked_at=FIRST_MORNING,
    )


def weather_days():
    """Return a station near the library, and the last of the days that are known there."""
    station = WeatherStation.objects.create(
        name="Yard", latitude=Decimal("40.24"), longitude=Decimal("-74.84")
    )
    for number in range(60):
        day = station.days.create(
            day=FIRST_MORNING.date() + timedelta(days=number - 50), minimum_f=63, maximum_f=85
        )
    return {"station_id": station.pk, "day_id": day.pk}


def failed_letter():
    return Outbox.objects.create(
        kind=Outbox.Kind.NOTICE,
        dedupe_key="a letter that failed",
        not_before=FIRST_MORNING,
        failed_at=FIRST_MORNING,
        last_error="There is no email address to send this to.",
    )


def begun(book, planting, rotation):
    """Put the rotation on a planting, count its mites, and name what hangs on its property."""
    owner, place = book.people[Role.OWNER], planting.property
    (course,) = put_on(
        rotation=rotation,
        plantings=[planting],
        first_day=FIRST_MORNING.date(),
        by=owner,
        today=FIRST_MORNING.date(),
    )
    count = record_count(
        planting=planting,
        pest=rotation.pest,
        scouted_at=FIRST_MORNING,
        scouted_by=owner,
        leaves_looked_at=20,
        leaves_infested=12,
        eggs=80,
        larvae=20,
        nymphs=60,
        adults=40,
    )
    test = keep_water_test(
        planting=planting,
        tested_on=FIRST_MORNING.date(),
        tested_by=owner,
        plants_tested=1,
        water_amount=Decimal(8),
        water_unit="fl oz",
    )
    window = AccessWindow.objects.create(property=place, weekday=0, opens=time(6), closes=time(20))
    neighbour = Neighbour.objects.create(property=place, name="N. Earby", phone="555-0103")
    visits = course.visits.order_by("rotation_week__week")
    return {
        "client_id": place.client_id,
        "property_id": place.pk,
        "planting_id": planting.pk,
        "pest_id": rotation.pest_id,
        "rotation_id": rotation.pk,
        "course_id": course.pk,
        "count_id": count.pk,
        "window_id": window.pk,
        "neighbour_id": neighbour.pk,
        "made_id": visits[0].pk,
        "visit_id": visits[1].pk,
        "later_id": visits[2].pk,
        "water_test_id": test.pk,
    }


def made_once(names, lot, applicator):
    """Make the first visit, and return the number of its record."""
    visit = Visit.objects.get(pk=names["made_id"])
    report = ApplicationReport(
        planting=visit.course.plantings.get(),
        lot=lot,
        product_amount=Decimal("7.5"),
        mix_gallons=Decimal(3),
        protective_equipment="gloves",
    )
    air = Conditions(
        at=FIRST_EVENING, wind_mph=Decimal(4), temperature_f=Decimal(75), wind_direction="N"
    )
    (record,) = complete_visit(
        visit,
        reports=[report],
        conditions=air,
        started_at=FIRST_EVENING - timedelta(minutes=45),
        done_at=FIRST_EVENING - timedelta(minutes=5),
        applicator=applicator,
        by=applicator.user,
    )
    return {"number": record.number, "record_id": record.pk}


def charged_once(book):
    """Charge the first visit on a statement, note a payment, and correct the charge."""
    office = book.people[Role.OFFICE]
    client = Client.objects.get(pk=book.own["client_id"])
    day = FIRST_MORNING.date()
    price = PriceRule.objects.create(by="visit", amount=Decimal(85), from_day=day)
    cost = CostRate.objects.create(of="hour", amount=Decimal(30), from_day=day)
    tax = TaxRate.objects.create(
        name="Tax of Nowhere",
        jurisdiction="US-PA",
        percent=Decimal(6),
        falls_on="both",
        from_day=day,
    )
    told = {"by": office, "at": FIRST_EVENING}
    statement = give_out(client, first_day=day, last_day=day, form_id=UUID(int=1), **told)
    payment = note_payment(
        client, day=day, amount=Decimal(50), way="check", form_id=UUID(int=2), **told
    )
    charge = correct_charge(
        client,
        property=client.properties.get(),
        day=day,
        amount=Decimal(-5),
        words="came late",
        form_id=UUID(int=3),
        **told,
    )
    return {
        "price_id": price.pk,
        "cost_id": cost.pk,
        "tax_id": tax.pk,
        "statement_number": statement.number,
        "payment_id": payment.pk,
        "charge_id": charge.pk,
    }


def charged_too(book):
    """Charge the foreign client for the same day."""
    client, day = Client.objects.get(pk=book.foreign["client_id"]), FIRST_MORNING.date()
    told = {"by": book.people[Role.OFFICE], "at": FIRST_EVENING, "form_id": UUID(int=4)}
    return give_out(client, first_day=day, last_day=day, **told)


def proposed(book, names):
    """Propose the same rotation once more, from two months later on."""
    later = date(2026, 9, 7)
    return write_estimate(
        rotation=Rotation.objects.get(pk=names["rotation_id"]),
        plantings=[Planting.objects.get(pk=names["planting_id"])],
        first_day=later,
        valid_until=later,
        prices={},
        by=book.people[Role.OFFICE],
        today=FIRST_MORNING.date(),
        at=FIRST_EVENING,
        form_id=uuid4(),
    )


def hand_out(book, visit_id, at):
    """Give a visit to the only crew, for the day of a moment."""
    visit = Visit.objects.get(pk=visit_id)
    tell_by_telephone(visit, at - timedelta(days=1))
    plan = dispatch_day(day=at.date(), visits=[visit], by=book.people[Role.OWNER], now=at)
    (route,) = plan.dispatches
    return route


def tell_by_telephone(visit, at):
    """Tell everybody of a visit in time."""
    for reader in people_to_tell(visit):
        log_contact(visit, reader, way="telephone", outcome="told", at=at, by=None, form_id=uuid4())


def hand_out_second_week(book, crew):
    """Give the own visit to the crew and the foreign one to a second crew; hold the third ones."""
    owner = book.people[Role.OWNER]
    route = hand_out(book, book.own["visit_id"], NOW)
    book.own["dispatch_id"] = route.pk
    book.foreign["dispatch_id"] = same_route(route, crew, book.foreign["visit_id"]).pk
    for names in (book.own, book.foreign):
        later = Visit.objects.get(pk=names["later_id"])
        hold_visit(later, reason=Hold.Reason.WIND, note="gusts", by=owner, at=NOW)
        names["hold_id"] = later.holds.get().pk


def same_route(route, crew, visit_id):
    """Give another visit to a second crew, on a route like the first."""
    second = Crew.objects.create(
        yard=crew.yard, name="Crew two", shift_starts=time(7), shift_ends=time(17)
    )
    Truck.objects.create(name="Truck two", crew=second, water_gallons=Decimal(50))
    copy = Dispatch.objects.get(pk=route.pk)
    copy.pk, copy.crew, copy.legs = None, second, deepcopy(route.legs)
    for leg in copy.legs:
        if "visit" in leg:
            leg["visit"] = visit_id
    copy.save(force_insert=True)
    first = route.visits.get()
    Visit.objects.filter(pk=visit_id).update(
        dispatch=copy, position=1, arrives_at=first.arrives_at, leaves_at=first.leaves_at
    )
    return copy

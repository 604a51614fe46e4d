"""The main job by a program, through the API: the same book comes out as through the pages."""

from datetime import timedelta
from io import BytesIO

import pytest
from django.test import Client as Browser
from django.utils import timezone
from pypdf import PdfReader

from services.models import Dispatch, FieldEvent, LoadLine, Outbox, Visit
from services.telling import deliver_due
from tests.journeys.conftest import MONDAYS
from treatments.models import ApplicationRecord, StockEntry

pytestmark = pytest.mark.django_db

REASON = "The two sprays reach one brood; the next course works differently."
AIR = {"wind_mph": "4", "wind_direction": "N", "temperature_f": "75", "humidity_percent": "50"}


class Program:
    """A program that is signed in as a person and speaks JSON."""

    def __init__(self, user):
        self.browser = Browser()
        self.browser.force_login(user)

    def get(self, path, **asked):
        return self.browser.get(f"/api/v1/{path}", asked)

    def post(self, path, told=None, **headers):
        headers = {name.replace("_", "-"): value for name, value in headers.items()}
        kind = "application/json"
        return self.browser.post(f"/api/v1/{path}", told or {}, content_type=kind, headers=headers)

    def paper(self, path):
        """Return the text of a PDF."""
        answer = self.browser.get(path)
        assert answer["Content-Type"] == "application/pdf"
        pages = PdfReader(BytesIO(answer.content)).pages
        return " ".join(" ".join(page.extract_text() for page in pages).split())


def rotation(season, rate):
    """Return a rotation as a program tells it: soap, then a miticide twice."""
    products = [(season.soap, rate), (season.mist, "2"), (season.mist, "2")]
    days = {"minimum_days": 5, "planned_days": 7, "maximum_days": 9}
    weeks = [
        {"week": number, "product": each.pk, "rate": rate, "basis": "fl oz/gal", **days}
        for number, (each, rate) in enumerate(products, 1)
    ]
    return {
        "name": "Mites on roses",
        "pest": season.pest.pk,
        "plant_group": "rose",
        "first_day": MONDAYS[0].date().isoformat(),
        "plantings": [bed.pk for bed in season.beds],
        "weeks": weeks,
    }


def compose(program, season):
    """Compose: refused above the label, asked for reasons, then kept with them."""
    refused = program.post("rotations/", rotation(season, "9"))
    asked = program.post("rotations/", rotation(season, "3"))
    warned = [each for each in asked.json()["errors"]["findings"] if each["severity"] == "warning"]
    reasons = {each["key"]: REASON for each in warned}
    return refused, asked, program.post("rotations/", rotation(season, "3") | {"reasons": reasons})


def put_on(program, season, rotation_id):
    first_day, beds = MONDAYS[0].date().isoformat(), [bed.pk for bed in season.beds]
    told = {"rotation": rotation_id, "plantings": beds, "first_day": first_day}
    return program.post("courses/", told)


def visits_of_week(program, week):
    return [each for each in program.get("visits/").json()["results"] if each["week"] == week]


def dispatch(program, week):
    """Hand out the visits of a week of the rotation."""
    visits = [each["id"] for each in visits_of_week(program, week)]
    monday = MONDAYS[week - 1].date().isoformat()
    return program.post("dispatches/dispatch/", {"monday": monday, "visits": visits})


def report(visit, season):
    """Return what was done at a visit in the half hour before now."""
    lots = {product.pk: lot.pk for product, lot in season.lots.items()}
    used = {"product_amount": "6", "mix_gallons": "3", "lot": lots[visit["product"]]}
    now = timezone.now()
    return {
        "started_at": (now - timedelta(minutes=30)).isoformat(),
        "done_at": now.isoformat(),
        "applicator": season.applicator.pk,
        "conditions": AIR,
        "reports": [{"planting": planting, **used} for planting in visit["plantings"]],
    }


def do_week(people, clock, season, week):
    """Dispatch a week in the morning, and report its visits in the afternoon."""
    clock.move_to(MONDAYS[week - 1])
    handed_out = dispatch(people("office"), week)
    assert handed_out.status_code == 200, handed_out.json()
    clock.shift(timedelta(hours=8))
    crew = people("crew")
    for visit in visits_of_week(crew, week):
        crew.post(f"visits/{visit['id']}/start/")
        clock.shift(timedelta(minutes=30))
        key = f"visit {visit['id']}"
        kept = crew.post(
            f"visits/{visit['id']}/complete/", report(visit, season), Idempotency_Key=key
        )
        assert kept.status_code == 201, kept.json()


@pytest.fixture
def people(season, owner, dispatcher):
    """Give a program that is signed in, anew each time, as days pass between."""
    users = {"owner": owner, "office": dispatcher, "crew": season.applicator.user}
    return lambda name: Program(users[name])


@pytest.fixture
def under_way(season, people, clock):
    """Both courses, with weeks one and two made."""
    *_, kept = compose(people("owner"), season)
    put_on(people("owner"), season, kept.json()["id"])
    for week in (1, 2):
        do_week(people, clock, season, week)
    clock.move_to(MONDAYS[2])
    return season


def everything_dispatched():
    kinds = (Dispatch, LoadLine, Visit)
    return [list(kind.objects.order_by("pk").values()) for kind in kinds]


def test_what_was_counted_is_told_back_in_mites_a_leaf(season, people):
    counted = {
        "planting": season.beds[0].pk,
        "pest": season.pest.pk,
        "scouted_at": timezone.now().isoformat(),
        "leaves_looked_at": 20,
        "leaves_infested": 12,
        "nymphs": 80,
        "adults": 40,
    }

    kept = people("crew").post("counts/", counted).json()

    assert (kept["motiles_per_leaf"], kept["infested_share"]) == (6.0, 0.6)


def test_a_rotation_is_refused_then_kept_with_a_reason(season, people):
    refused, asked, kept = compose(people("owner"), season)

    assert refused.status_code == asked.status_code == 400
    assert "refusal" in {each["severity"] for each in refused.json()["errors"]["findings"]}
    assert kept.status_code == 201
    assert {each["reason"] for each in kept.json()["accepted_warnings"]} == {REASON}


def test_a_rotation_is_put_on_several_properties(season, people):
    *_, kept = compose(people("owner"), season)

    begun = put_on(people("owner"), season, kept.json()["id"])

    assert begun.status_code == 201
    assert {each["property"] for each in begun.json()} == {bed.property_id for bed in season.beds}


def test_the_third_week_is_dispatched_once_however_often_it_is_sent(under_way, people):
    office = people("office")
    dispatch(office, 3)
    first = everything_dispatched()

    again = dispatch(office, 3)

    assert again.status_code == 200
    assert all(each["dispatch"] for each in visits_of_week(office, 3))
    assert everything_dispatched() == first


def test_a_crew_is_told_not_to_spray_in_wind(under_way, people):
    dispatch(people("office"), 3)
    crew = people("crew")
    visit = visits_of_week(crew, 3)[0]

    calm = crew.post(f"visits/{visit['id']}/check/", {"conditions": AIR | {"hours_to_rain": "48"}})
    windy = crew.post(f"visits/{visit['id']}/check/", {"conditions": AIR | {"wind_mph": "16"}})

    assert calm.json()["may_spray"]
    assert not windy.json()["may_spray"]
    assert "above the label" in windy.json()["findings"][0]["sentence"]


def test_a_report_under_another_key_stands_beside_the_first(under_way, people, clock):
    do_week(people, clock, under_way, 3)
    crew = people("crew")
    visit = visits_of_week(crew, 3)[0]
    clock.shift(timedelta(days=2))
    told = report(visit, under_way)
    told_to_clients, (first,) = Outbox.objects.count(), visit["records"]

    again = people("crew").post(
        f"visits/{visit['id']}/complete/", told, Idempotency_Key="another key"
    )

    (second,) = again.json()["records"]
    assert second != first
    assert "completed this visit" in again.json()["first"]
    assert Outbox.objects.count() == told_to_clients
    (waiting,) = FieldEvent.objects.to_review()
    assert [record.number for record in waiting.records.all()] == [second]


def test_week_three_is_made_recorded_amended_and_told(under_way, people, clock, mailoutbox):
    do_week(people, clock, under_way, 3)
    crew = people("crew")
    visit = next(
        each
        for each in visits_of_week(crew, 3)
        if each["property"] == under_way.beds[0].property_id
    )
    (record_id,) = visit["records"]
    number = ApplicationRecord.objects.get(pk=record_id).number

    in_the_book(number, crew)
    amended(number, crew)
    told_to_the_client(visit, mailoutbox)


def in_the_book(number, crew):
    """The record is complete, its paper says the same, and the store is down by what was used."""
    record = crew.get(f"records/{number}/").json()
    drawn = StockEntry.objects.get(record__number=number)

    assert record["missing"] == []
    assert record["epa_registration_number"] == "0-103"
    assert record["applicator_licence_number"] == "PA-0007"
    assert drawn.amount == -6
    assert "PA-0007" in crew.paper(f"/records/{number}/record.pdf")


def amended(number, crew):
    """A wrong wind is put right by a second record; the first stays as it was."""
    told = {"wind_mph": "5", "reason": "The meter was read again from its memory."}

    second = crew.post(f"records/{number}/amend/", told)

    assert second.status_code == 201
    assert (second.json()["amends"], second.json()["wind_mph"]) == (number, "5.0")
    first = crew.get(f"records/{number}/").json()
    assert (first["amended_by"], first["wind_mph"]) == (second.json()["number"], "4.0")


def told_to_the_client(visit, mailoutbox):
    """The letter goes out once for each week, its summary beside it."""
    deliver_due(timezone.now())
    deliver_due(timezone.now())
    letters = [m for m in mailoutbox if m.to == ["reader@example.org"] and m.attachments]

    assert len(letters) == 3
    assert [name for name, _content, _kind in letters[-1].attachments] == ["summary.pdf"]

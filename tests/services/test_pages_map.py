"""The map of a day: its data by role, its list, and nothing that a page may not run."""

import json
import re

import pytest
from django.urls import reverse

from services import dispatching
from services.models import Crew, Dispatch
from services.showing.map import beginnings_of
from tests.services.test_skies import NOW

DAY = "/day/2026-07-06/"


@pytest.fixture
def route(visits, soap_lot, oil_lot, calibration, crew, owner, on_monday):
    """The first visit, given to the crew for Monday."""
    plan = dispatching.dispatch_day(day=on_monday, visits=[visits[0]], by=owner, now=NOW)
    return plan.dispatches[0]


def facts_for(client, user):
    client.force_login(user)
    return json.loads(client.get(f"{DAY}map.json").content)


def test_the_map_is_told_the_way_from_the_yard_through_its_stops(client, owner, route, visits):
    told = facts_for(client, owner)["routes"][0]

    assert told["yard"] == {"name": "Ferry yard", "point": [40.22, -74.8]}
    assert [(stop["mark"], stop["name"], stop["point"]) for stop in told["stops"]] == [
        ("C1", "Library", [40.25, -74.85])
    ]
    assert told["stops"][0]["url"] == reverse("services:visit", args=[visits[0].pk])


def test_a_way_goes_back_to_the_yard_where_the_tank_is_filled(client, owner, route):
    yard, library = [40.22, -74.8], [40.25, -74.85]
    at = route.leaves_yard_at.isoformat()
    assert facts_for(client, owner)["routes"][0]["way"] == [yard, library, yard]

    work = next(leg for leg in route.legs if leg["kind"] == "work")
    refill = {"kind": "refill", "from": at, "until": at}
    Dispatch.objects.filter(pk=route.pk).update(legs=[work, refill, work])

    way = facts_for(client, owner)["routes"][0]["way"]
    assert way == [yard, library, yard, library, yard]


def test_a_technician_is_told_the_way_of_the_own_crew_alone(client, technician, route, yard):
    other = Crew.objects.create(yard=yard, name="Owls", shift_starts="07:00", shift_ends="17:00")
    hours = {name: getattr(route, name) for name in ("made_at", "leaves_yard_at", "returns_at")}
    Dispatch.objects.create(crew=other, day=route.day, **hours)

    assert [each["crew"] for each in facts_for(client, technician)["routes"]] == ["Crew one"]


def test_a_technician_of_another_crew_is_told_nothing(client, technician, route):
    technician.technician.crew = None
    technician.technician.save()

    assert facts_for(client, technician)["routes"] == []


def test_an_inspector_has_no_map_and_a_stranger_signs_in(client, inspector):
    assert client.get(f"{DAY}map.json").url.startswith("/accounts/login/")

    client.force_login(inspector)

    assert client.get(f"{DAY}map.json").status_code == 403


def test_no_gate_code_and_no_telephone_is_told(client, owner, route, library):
    library.gate_code = "own-gate-77"
    library.save()

    assert "own-gate-77" not in json.dumps(facts_for(client, owner))


def test_the_answer_is_kept_by_nobody(client, owner, route):
    client.force_login(owner)

    assert "no-store" in client.get(f"{DAY}map.json")["Cache-Control"]


def test_no_tiles_are_told_unless_the_settings_name_some(client, owner, route, settings):
    assert facts_for(client, owner)["tiles"] is None

    settings.MAP_TILES = "https://tiles.example.org/{z}/{x}/{y}.png"

    assert facts_for(client, owner)["tiles"] == settings.MAP_TILES


def test_the_list_beside_the_map_says_the_same(client, owner, route, visits):
    client.force_login(owner)
    page = client.get(DAY).content.decode()

    assert f'data-stop="{visits[0].pk}"' in page
    assert "<b>C1</b>" in page


def test_a_hostile_name_is_text_on_the_page_and_data_in_the_answer(client, owner, route, library):
    library.name = '"><script>alert(1)</script>'
    library.save()
    client.force_login(owner)
    page = client.get(DAY).content.decode()

    assert "<script>alert" not in page
    assert client.get(f"{DAY}map.json")["Content-Type"] == "application/json"
    assert facts_for(client, owner)["routes"][0]["stops"][0]["name"] == library.name


def test_the_page_holds_no_script_and_no_style_of_its_own(client, owner, route):
    client.force_login(owner)
    page = client.get(DAY).content.decode()

    assert re.findall(r"<script(?![^>]*\bsrc=)[^>]*>", page) == []
    assert "<style" not in page
    assert " style=" not in page


def test_a_day_without_crews_has_no_map(client, owner, yard, on_monday):
    client.force_login(owner)

    assert "leaflet" not in client.get(DAY).content.decode()


@pytest.mark.parametrize(
    ("names", "marks"),
    [
        ([], []),
        (["Alder", "Moth"], ["A", "M"]),
        (["Crew one", "Crew two"], ["Crew o", "Crew t"]),
        (["A", "AB"], ["A", "AB"]),
    ],
)
def test_crews_are_marked_by_the_shortest_beginnings_that_differ(names, marks):
    assert list(beginnings_of(names).values()) == marks

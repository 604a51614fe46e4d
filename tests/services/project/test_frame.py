"""The frame around every page: the places, the language, the way out."""

import re
from pathlib import Path

import pytest
from django.contrib.auth.models import AnonymousUser
from django.template.loader import render_to_string

from services.project import frame

PROJECT = Path(frame.__file__).parent
ADDRESSES = {"services:week": "/", "services:day": "/day/", "clients:properties": "/properties/"}


@pytest.fixture
def three_places(monkeypatch):
    """Three places have an address, the others have none yet."""
    monkeypatch.setattr(frame, "_address", lambda name: ADDRESSES.get(name, ""))


@pytest.mark.parametrize(
    ("path", "current"),
    [("/", "Week"), ("/day/", "Day"), ("/properties/7/", "Properties"), ("/accounts/login/", None)],
)
def test_the_place_a_page_lies_in_is_marked(rf, three_places, owner, path, current):
    places = frame.places_for(asked(rf, path, owner))

    assert [place.word for place in places if place.is_current] == ([current] if current else [])


@pytest.mark.parametrize(
    ("path", "current"),
    [
        ("/courses/3/", "Week"),
        ("/clients/7/", "Properties"),
        ("/products/", "Store"),
        ("/records/due/", "Records"),
        ("/corrections/", "Records"),
        ("/crews/1/edit/", "People"),
        ("/search/", None),
    ],
)
def test_a_page_beside_a_place_marks_it(rf, owner, path, current):
    places = frame.places_for(asked(rf, path, owner))

    assert [place.word for place in places if place.is_current] == ([current] if current else [])


def test_a_place_without_an_address_is_left_out(rf, three_places, owner):
    places = frame.places_for(asked(rf, "/", owner))

    assert [place.word for place in places] == ["Week", "Day", "Properties"]


def test_a_technician_is_offered_only_the_places_that_open(rf, technician):
    places = frame.places_for(asked(rf, "/day/", technician))

    assert [place.word for place in places] == ["Day", "Records"]


def test_a_stranger_is_offered_no_place(rf):
    assert frame.places_for(asked(rf, "/accounts/login/", AnonymousUser())) == []


def asked(rf, path, user):
    request = rf.get(path)
    request.user = user
    return request


def test_the_frame_offers_the_other_language_and_the_way_out(rf, business, owner):
    page = render_to_string("base.html", request=asked(rf, "/day/", owner))

    assert "Willow Ferry Gardens (invented)" in page
    assert 'value="es" lang="es">Español</button>' in page
    assert "Sign out" in page


def test_signing_in_needs_nothing_but_the_form(client, db):
    answer = client.get("/accounts/login/")

    assert answer.status_code == 200
    assert "Sign in" in answer.content.decode()


@pytest.mark.parametrize("folder", ["clients", "treatments", "services"])
def test_no_template_holds_a_style_or_script_of_its_own(folder):
    root = PROJECT.parent.parent / folder
    forbidden = re.compile(r"<style|\sstyle=|<script(?![^>]*\ssrc=)|\son[a-z]+=|javascript:")

    # The phone's page holds its style so that it is drawn at once; the policy names its digest.
    pages = [path for path in root.rglob("*.html") if path.name != "field.html"]
    offenders = [path.name for path in pages if forbidden.search(path.read_text())]

    assert offenders == []

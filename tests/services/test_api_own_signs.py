"""A sign from the code, sent by a program: the same is refused as on the page."""

from base64 import b64decode, b64encode
from io import BytesIO

import pytest
from PIL import Image

from services.printing.posting_signs import design_for, may_be_printed
from treatments.models import OwnSign, SignConfirmed
from treatments.rules.records import design_of, posting_for

ADDRESS = "/api/v1/sign-designs/{}/own/"


def picture():
    drawn = BytesIO()
    Image.new("RGB", (400, 200), "black").save(drawn, "PNG")
    return b64encode(drawn.getvalue()).decode()


def own(**changes):
    """Return what a program sends of a sign with its symbol, of words that are invented here."""
    sent = {
        "width_in": "7",
        "height_in": "8",
        "background": "white",
        "lettering": "red",
        "lines": [
            {"words": "INVENTED WORDS", "size": "40"},
            {"words": "[business], 100%", "size": "0.5", "counted_in": "letters_in"},
        ],
        "symbol": "drawing",
        "symbol_in": "2",
        "symbol_after": 1,
        "drawing": picture(),
        "citation": "An invented code, appendix B",
        "compared_on": "2026-07-01",
    }
    return {name: value for name, value in (sent | changes).items() if value is not None}


@pytest.fixture
def send(api, owner, on_monday):
    """Send a sign as the owner's program does."""
    api.force_authenticate(owner)
    return lambda state, sent: api.post(ADDRESS.format(state), sent, format="json")


def test_it_is_kept_as_the_page_keeps_it_and_can_be_printed(send, owner, library):
    library.jurisdiction = "US-ME"
    library.save()
    told = send("US-ME", own(back=[{"words": "Back", "size": "12"}])).json()

    kept = OwnSign.objects.get()
    assert (told["id"], told["jurisdiction"], told["citation"]) == (kept.pk, "ME", kept.citation)
    assert kept.parts == [
        {"words": "INVENTED WORDS", "points": "40.000"},
        {"drawing_in": "2.00"},
        {"words": "%(business)s, 100%%", "letters_in": "0.500"},
    ]
    assert kept.back == [{"words": "Back", "points": "12.000"}]
    assert kept.entered_by == owner
    assert b64decode(kept.drawing).startswith(b"\x89PNG")
    assert may_be_printed(design_for(library))


@pytest.mark.parametrize(
    ("state", "changes", "field", "words"),
    [
        # [ME-26-28] five by four inches at least; [MD-5-208] exactly; [NY-ECL-33] letters of 3/8 in
        ("US-ME", {"width_in": "4"}, "non_field_errors", "5 by 4 inches at least"),
        ("US-MD", {}, "non_field_errors", "exactly 5 by 4 inches"),
        (
            "US-NY",
            {"lines": [{"words": "SMALL", "size": "30"}]},
            "non_field_errors",
            "letters of 0.375 inches at least",
        ),
        (
            "US-ME",
            {"lines": [{"words": "W" * 60, "size": "90"}]},
            "non_field_errors",
            "more than the sign holds",
        ),
        ("US-ME", {"lines": []}, "lines", "Type the words"),
        ("US-ME", {"lines": [{"words": "One", "size": "9"}] * 9}, "lines", "no more than 8"),
        ("US-ME", {"symbol_in": None}, "symbol_in", "Say how wide"),
        ("US-ME", {"drawing": None}, "drawing", "Give the picture"),
        ("US-ME", {"drawing": "not base64!"}, "drawing", "no base64"),
        ("US-ME", {"drawing": b64encode(b"<svg/>").decode()}, "drawing", "no picture"),
        ("US-ME", {"compared_on": "2126-07-01"}, "compared_on", "still to come"),
        ("US-ME", {"citation": None}, "citation", "required"),
        ("US-ME", {"background": "plum"}, "background", "not a valid choice"),
    ],
)
def test_what_the_page_refuses_is_refused_with_its_sentence(send, state, changes, field, words):
    answer = send(state, own(**changes))

    assert answer.status_code == 400
    assert words in " ".join(map(str, answer.json()["errors"][field]))
    assert not OwnSign.objects.exists()


def test_a_picture_that_no_symbol_asks_for_is_not_kept(send):
    assert send("US-ME", own(symbol="walkers")).status_code == 201

    assert OwnSign.objects.get().drawing == ""


def test_where_the_book_knows_of_no_sign_none_is_taken(send):
    assert send("US-PA", own()).status_code == 404


@pytest.mark.parametrize("who", ["dispatcher", "technician", "inspector"])
def test_only_the_owner_sends_a_sign(api, request, who):
    api.force_authenticate(request.getfixturevalue(who))

    assert api.post(ADDRESS.format("US-ME"), own(), format="json").status_code == 403
    assert not OwnSign.objects.exists()


def test_a_stranger_sends_nothing(api, db):
    assert api.post(ADDRESS.format("US-ME"), own(), format="json").status_code in (401, 403)


@pytest.mark.parametrize("apart", [None, 50, 25])
def test_each_sign_for_workers_is_confirmed_by_itself(api, owner, apart):
    # [WAC-296-307-120] the smaller ones stand no farther than 50 and 25 feet apart
    api.force_authenticate(owner)
    body = {} if apart is None else {"apart_ft": apart}

    answer = api.post("/api/v1/sign-designs/US-WPS/confirm/", body, format="json")

    assert answer.status_code == 200
    design = design_of(posting_for("US-WPS"), apart)
    assert SignConfirmed.objects.get().fingerprint == design.fingerprint()


@pytest.mark.parametrize("apart", [None, 50, 25])
def test_each_sign_for_workers_may_be_the_owners_own(send, library, apart):
    library.production_site = True
    library.save()

    inch = [{"words": "INVENTED", "size": "1", "counted_in": "letters_in"}]
    large = own(width_in="14", height_in="16", lines=inch, apart_ft=apart)
    assert send("US-WPS", large).status_code == 201

    owners = [each for each in (None, 50, 25) if design_for(library, each).own]
    assert owners == [apart]


def test_a_small_letter_is_refused_on_a_smaller_sign_too(send):
    # [WAC-296-307-120] letters of half an inch on the sign for 50 feet
    small = [{"words": "SMALL", "size": "0.4", "counted_in": "letters_in"}]

    answer = send("US-WPS", own(lines=small, apart_ft=50))

    assert "letters of 0.5 inches" in " ".join(answer.json()["errors"]["non_field_errors"])


@pytest.mark.parametrize("way", ["confirm", "own"])
def test_a_sign_of_another_distance_is_not_found(api, owner, way):
    api.force_authenticate(owner)
    address = f"/api/v1/sign-designs/US-WPS/{way}/"

    assert api.post(address, own(apart_ft=40), format="json").status_code == 404
    assert api.post(address, own(apart_ft="far"), format="json").status_code == 400

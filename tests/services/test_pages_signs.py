"""The sign of a visit or a property: printed where its rule was read, else confirmed first."""

import io
from base64 import b64decode
from datetime import UTC, date, datetime

import pytest
from django.core.exceptions import ValidationError
from django.db import DatabaseError, transaction
from django.urls import reverse
from PIL import Image
from pypdf import PdfReader

from clients.models import Property
from services.models import Dispatch
from services.printing.posting_signs import design_for, may_be_printed
from treatments.models import Business, OwnSign, SignConfirmed
from treatments.recording import record_application
from treatments.rules.records import design_of, posting_for
from treatments.signing import confirm_sign

MONDAY = date(2026, 7, 6)


def moved_to(state):
    """Let all properties lie in a state."""
    Property.objects.update(jurisdiction=state)


def text_of(answer):
    assert answer.status_code == 200
    assert answer["Content-Type"] == "application/pdf"
    pages = PdfReader(io.BytesIO(answer.content)).pages
    return " ".join(" ".join(page.extract_text() for page in pages).split())


@pytest.fixture
def sign(library):
    return reverse("services:property_sign", args=[library.pk])


def test_a_sign_whose_rule_was_read_in_the_code_is_printed(client, technician_in_reach, sign):
    # [MI-285-637] R 285.637.11
    moved_to("US-MI")

    told = text_of(client.get(sign))

    for words in ("CAUTION", "Pesticide Application", "Keep Off Until Dry"):
        assert words in told
    assert "Mich. Admin. Code R 285.637.11" in told
    assert "Local codes and a licensed applicator decide" in told


@pytest.mark.parametrize("state", ["US-NJ", "US-CT", "US-CO", "US-MN", "US-WA", "US-NY"])
def test_another_sign_waits_until_the_owner_compared_it_with_the_code(client, owner, sign, state):
    moved_to(state)
    client.force_login(owner)
    waiting = client.get(sign)
    assert waiting.status_code == 422
    assert "I compared it with the code" in waiting.content.decode()

    confirm = reverse("services:confirm_sign", args=[posting_for(state).jurisdiction])
    assert client.post(confirm, {"way": sign}).url == sign

    assert "Compared with the code by owner" in text_of(client.get(sign))
    kept = SignConfirmed.objects.get()
    assert (kept.jurisdiction, kept.confirmed_by) == (state[-2:], owner)


@pytest.mark.parametrize("state", ["US-ME", "US-MD", "US-OH", "US-WI", "US-FL"])
def test_a_sign_whose_words_or_symbol_are_not_in_the_book_is_never_printed(
    client, owner, sign, state
):
    moved_to(state)
    client.force_login(owner)
    answer = client.get(sign)

    assert answer.status_code == 422
    assert "I compared it with the code" not in answer.content.decode()
    assert client.post(reverse("services:confirm_sign", args=[state])).status_code == 404
    assert not SignConfirmed.objects.exists()


def test_a_production_site_gets_the_sign_of_no_state(client, owner, sign):
    # [40CFR170] its own sign, with a symbol that is not in the book
    moved_to("US-MI")
    Property.objects.update(production_site=True)
    client.force_login(owner)

    assert client.get(sign).status_code == 422
    client.post(reverse("services:confirm_sign", args=["US-WPS"]))

    # [40CFR170] the words; [WI-ATCP29-C] letters of an inch, a circle near the middle
    told = text_of(client.get(sign))
    for words in ("DANGER PELIGRO", "PESTICIDES", "PESTICIDAS", "KEEP OUT", "NO ENTRE"):
        assert words in told
    assert "Compared with the code by owner" in told


# [WAC-296-307-120] the smaller signs stand no farther than 50 and 25 feet apart
@pytest.mark.parametrize("apart", ["50", "25"])
def test_a_smaller_sign_is_compared_and_printed_by_itself(client, owner, sign, apart):
    Property.objects.update(production_site=True)
    client.force_login(owner)
    confirm = reverse("services:confirm_sign", args=["US-WPS"])
    client.post(confirm)
    smaller = f"{sign}?apart={apart}"
    waiting = client.get(smaller)
    assert waiting.status_code == 422
    assert "read in a state&#x27;s rule for the same sign" in waiting.content.decode()

    asked = {"way": waiting.context["way"], "apart": waiting.context["apart"]}
    assert client.post(confirm, asked).url == smaller

    answer = client.get(smaller)
    assert f"no farther than {apart} feet apart" in text_of(answer)
    assert f"posting-sign-US-WPS-{apart}-ft" in answer["Content-Disposition"]
    assert SignConfirmed.objects.count() == 2


@pytest.mark.parametrize("is_site", [True, False])
def test_smaller_signs_are_offered_where_workers_are_told(client, owner, library, is_site):
    Property.objects.update(production_site=is_site)
    client.force_login(owner)

    page = client.get(reverse("services:property", args=[library.pk])).content.decode()

    assert ("?apart=50" in page, "?apart=25" in page) == (is_site, is_site)


@pytest.mark.parametrize("apart", ["49", "fifty", "50.0", "-25"])
def test_a_size_that_no_rule_has_is_not_found(client, owner, sign, apart):
    Property.objects.update(production_site=True)
    client.force_login(owner)
    confirm = reverse("services:confirm_sign", args=["US-WPS"])

    assert client.get(f"{sign}?apart={apart}").status_code == 404
    assert client.post(confirm, {"apart": apart}).status_code == 404


def test_a_sign_of_a_state_has_no_smaller_one(client, owner, sign):
    moved_to("US-MI")
    client.force_login(owner)

    assert client.get(f"{sign}?apart=50").status_code == 404


def test_where_no_rule_for_a_sign_was_found_that_is_said(client, owner, sign):
    client.force_login(owner)
    answer = client.get(sign)

    assert answer.status_code == 422
    assert "No rule for a sign was found for Pennsylvania." in answer.content.decode()


@pytest.mark.parametrize("who", ["dispatcher", "technician", "inspector"])
def test_only_the_owner_confirms(client, request, who):
    client.force_login(request.getfixturevalue(who))

    assert client.post(reverse("services:confirm_sign", args=["US-NJ"])).status_code == 403


def test_a_confirmation_is_kept_once_and_the_first_stays(owner, dispatcher):
    design = design_of(posting_for("US-NJ"))
    first = datetime(2026, 7, 6, tzinfo=UTC)
    confirm_sign(design=design, by=owner, at=first)

    again = confirm_sign(design=design, by=dispatcher, at=datetime(2026, 8, 1, tzinfo=UTC))

    assert (again.confirmed_by, again.confirmed_at) == (owner, first)
    assert SignConfirmed.objects.count() == 1


def test_another_sign_of_the_same_state_is_confirmed_anew(owner, library):
    moved_to("US-NJ")
    library.refresh_from_db()
    design = design_for(library)
    SignConfirmed.objects.create(jurisdiction="NJ", fingerprint="0" * 64, confirmed_by=owner)
    assert not may_be_printed(design)

    confirm_sign(design=design, by=owner, at=datetime(2026, 7, 6, tzinfo=UTC))

    assert may_be_printed(design)


def test_nobody_is_led_away_after_confirming(client, owner):
    client.force_login(owner)
    confirm = reverse("services:confirm_sign", args=["US-NJ"])

    answer = client.post(confirm, {"way": "https://elsewhere.example/"})

    assert answer.url == reverse("services:home")


def test_a_visit_fills_in_its_day_product_and_business(client, owner, visits, stated):
    # [CO-35-10] product and date on unattended commercial sites; [CT-22A-66] date and business
    moved_to("US-CO")
    visit = visits[0]
    Business.objects.update(name="Evening Gardens", phone="555-0142")
    visit.records.add(record_application(**stated))
    confirm_sign(design=design_of(posting_for("US-CO")), by=owner, at=datetime.now(UTC))
    client.force_login(owner)

    told = text_of(client.get(reverse("services:posting_sign", args=[visit.pk])))

    for words in ("July 6, 2026", "Quiet Soap", "Evening Gardens", "555-0142"):
        assert words in told


def test_a_technician_prints_only_within_reach(client, technician, dispatched, on_monday, sign):
    moved_to("US-MI")
    client.force_login(technician)
    assert client.get(sign).status_code == 404

    Dispatch.objects.filter(pk=dispatched.dispatch_id).update(day=MONDAY)
    assert client.get(sign).status_code == 200


@pytest.fixture
def technician_in_reach(client, technician, dispatched, on_monday):
    """A technician whose crew goes to the library today."""
    Dispatch.objects.filter(pk=dispatched.dispatch_id).update(day=MONDAY)
    client.force_login(technician)
    return technician


def drawing():
    """Return a picture of a symbol, twice as wide as it is high."""
    made = io.BytesIO()
    Image.new("RGB", (400, 200), "black").save(made, "PNG")
    made.seek(0)
    made.name = "symbol.png"
    return made


def own(**changes):
    """Return what the owner types of a sign with its symbol, of words that are invented here."""
    typed = {
        "width_in": "7",
        "height_in": "8",
        "background": "white",
        "lettering": "red",
        "line_1": "INVENTED WORDS",
        "line_1_size": "40",
        "line_1_in": "points",
        "line_2": "[business], remove after [remove]",
        "line_2_size": "18",
        "line_2_in": "points",
        "symbol": "drawing",
        "symbol_in": "2",
        "symbol_after": "1",
        "citation": "An invented code, appendix B",
        "compared_on": "2026-07-01",
    }
    return typed | changes


def own_page(state):
    return reverse("services:own_sign", args=[state])


@pytest.mark.parametrize("state", ["US-ME", "US-MD", "US-OH", "US-WI", "US-FL"])
def test_the_owner_gives_words_and_symbol_from_the_code_and_prints_it(client, owner, sign, state):
    moved_to(state)
    client.force_login(owner)
    assert own_page(posting_for(state).jurisdiction) in client.get(sign).content.decode()
    size = {"width_in": "5", "height_in": "4"} if state == "US-MD" else {}  # [MD-5-208] exactly
    typed = own(drawing=drawing(), line_1_size="30", symbol_in="1", **size)
    assert client.post(own_page(state), typed).status_code == 302

    told = text_of(client.get(sign))

    assert "INVENTED WORDS" in told
    assert "were taken from the code by owner and compared on 2026-07-01" in told
    assert "An invented code, appendix B" in told
    assert "The book's table has not verified them." in told
    kept = OwnSign.objects.get()
    assert (kept.entered_by, kept.compared_on) == (owner, date(2026, 7, 1))
    assert b64decode(kept.drawing).startswith(b"\x89PNG")


@pytest.mark.parametrize("apart", ["50", "25"])
def test_a_smaller_sign_is_given_from_the_code_by_itself(client, owner, sign, apart):
    Property.objects.update(production_site=True)
    client.force_login(owner)
    page = f"{own_page('US-WPS')}?apart={apart}"
    assert f'href="{page}"' in client.get(f"{sign}?apart={apart}").content.decode()
    assert f"no farther than {apart} feet apart" in client.get(page).content.decode()

    typed = own(drawing=drawing(), symbol_in="1", line_1="OWN WORDS", line_1_size="60")
    assert client.post(page, typed | {"line_2": ""}).status_code == 302

    assert "OWN WORDS" in text_of(client.get(f"{sign}?apart={apart}"))
    assert client.get(sign).status_code == 422  # the large one was not given


@pytest.mark.parametrize(
    ("state", "changes", "words"),
    [
        # [ME-26-28] five by four inches at least; [MD-5-208] exactly; [NY-ECL-33] letters of 3/8 in
        ("US-ME", {"width_in": "4"}, "5 by 4 inches at least"),
        ("US-MD", {}, "exactly 5 by 4 inches"),
        ("US-NY", {"line_2_size": "30"}, "letters of 0.375 inches at least"),
        ("US-ME", {"line_1": "W" * 60, "line_1_size": "90"}, "more than the sign holds"),
        ("US-ME", {"citation": ""}, "required"),
        ("US-ME", {"compared_on": "2126-07-01"}, "still to come"),
        ("US-ME", {"line_1_size": ""}, "Say how large"),
        ("US-ME", {"symbol_in": ""}, "Say how wide"),
        ("US-ME", {"drawing": None}, "Give the picture"),
    ],
)
def test_an_own_sign_is_never_less_than_the_rule_asks(client, owner, state, changes, words):
    client.force_login(owner)
    typed = own(drawing=drawing()) | changes
    answer = client.post(own_page(state), {k: v for k, v in typed.items() if v is not None})

    assert answer.status_code == 422
    assert words in answer.content.decode()
    assert not OwnSign.objects.exists()


def test_what_is_no_picture_is_refused(client, owner):
    client.force_login(owner)
    file = io.BytesIO(b"<svg onload='alert(1)'/>")
    file.name = "symbol.png"

    answer = client.post(own_page("US-ME"), own(drawing=file))

    assert "This is no picture" in answer.content.decode()
    assert not OwnSign.objects.exists()


def test_the_form_begins_with_what_the_table_knows(client, owner):
    # [ME-26-28] CAUTION in 72 points, PESTICIDE APPLICATION in 30 or more
    client.force_login(owner)

    form = client.get(own_page("US-ME")).context["form"]

    assert (form["line_1"].value(), form["line_1_size"].value()) == ("CAUTION", 72)
    assert (form["line_2"].value(), form["line_2_size"].value()) == ("PESTICIDE APPLICATION", 30)
    assert "[re-entry]" in form["line_3"].value()


def test_an_own_sign_counts_for_the_rule_that_it_was_taken_for(client, owner, sign):
    moved_to("US-WI")
    client.force_login(owner)
    client.post(own_page("US-WI"), own(drawing=drawing()))
    kept = OwnSign.objects.get()
    other = {name: getattr(kept, name) for name in ("width_in", "height_in", "parts", "citation")}
    OwnSign(
        jurisdiction="FL", of_design="0" * 64, entered_by=owner, compared_on=MONDAY, **other
    ).save()
    assert client.get(sign).status_code == 200

    moved_to("US-FL")

    assert client.get(sign).status_code == 422


@pytest.mark.parametrize("who", ["dispatcher", "technician", "inspector"])
def test_only_the_owner_takes_a_sign_from_the_code(client, request, who):
    client.force_login(request.getfixturevalue(who))

    assert client.get(own_page("US-ME")).status_code == 403
    assert client.post(own_page("US-ME"), own()).status_code == 403


def test_an_own_sign_is_never_changed(client, owner):
    client.force_login(owner)
    client.post(own_page("US-OH"), own(drawing=drawing()))
    kept = OwnSign.objects.get()

    with pytest.raises(ValidationError):
        kept.save()
    with pytest.raises(DatabaseError), transaction.atomic():
        OwnSign._base_manager.filter(pk=kept.pk)._raw_delete("default")
    assert OwnSign.objects.count() == 1


def test_a_sign_is_offered_only_where_one_is_known(client, owner, library, sign):
    client.force_login(owner)
    place = reverse("services:property", args=[library.pk])
    without = client.get(place).content.decode()
    moved_to("US-MI")
    with_one = client.get(place).content.decode()

    assert f'href="{sign}"' not in without
    assert "No rule for a sign was found for Pennsylvania." in without
    assert "Ask the state&#x27;s agency" in without
    assert f'href="{sign}"' in with_one


def test_a_visit_says_once_that_no_sign_is_known(client, owner, visits):
    client.force_login(owner)
    page = client.get(reverse("services:visit", args=[visits[0].pk])).content.decode()

    assert page.count("No rule for a sign was found") == 1
    assert "Ask the state&#x27;s agency" in page
    assert reverse("services:posting_sign", args=[visits[0].pk]) not in page

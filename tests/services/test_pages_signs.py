"""The sign of a visit or a property: printed where its rule was read, else confirmed first."""

import io
from datetime import UTC, date, datetime

import pytest
from django.urls import reverse
from pypdf import PdfReader

from clients.models import Property
from services.models import Dispatch
from services.printing.posting_signs import design_for, may_be_printed
from treatments.models import Business, SignConfirmed
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


@pytest.mark.parametrize("state", ["US-NJ", "US-CT", "US-CO", "US-MN", "US-WA"])
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


@pytest.mark.parametrize("state", ["US-NY", "US-ME", "US-MD", "US-OH", "US-WI", "US-FL"])
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

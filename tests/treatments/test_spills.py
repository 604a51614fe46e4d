"""A spill is noted once and for good, and what was lost leaves the ledger of its lot."""

from datetime import UTC, datetime
from decimal import Decimal

import pytest
import time_machine
from django.core.exceptions import ValidationError
from django.db import DatabaseError, connection, transaction
from django.urls import reverse

from treatments.models import SpillNote, StockEntry
from treatments.spills import note_spill

NOW = datetime(2026, 7, 7, 14, tzinfo=UTC)


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def told(soap, soap_lot):
    return {
        "happened_at": datetime(2026, 7, 7, 12, tzinfo=UTC),
        "place": "Yard, before the store",
        "product": soap,
        "what": SpillNote.What.CONCENTRATE,
        "lot": soap_lot,
        "amount": Decimal(16),
        "done": "Dammed up with absorbent and taken up.",
        "told": "State agency, 9:40",
    }


def typed(told, **others):
    """Return the same as a form sends it."""
    return told | {
        "happened_at": "2026-07-07T08:00",
        "product": told["product"].pk,
        "lot": told["lot"].pk,
        "form_id": "9d2a4c5e-3b1f-4a6e-8f57-0c1d2e3f4a5b",
        **others,
    }


def test_what_ran_out_of_a_lot_leaves_its_ledger(told, soap_lot, owner):
    before = soap_lot.left()

    note_spill(**told, by=owner)

    assert soap_lot.left() == before - 16
    line = StockEntry.objects.latest("pk")
    assert (line.kind, line.amount) == (StockEntry.Kind.DISPOSED, Decimal(-16))
    assert "Yard, before the store" in line.note


def test_more_than_the_ledger_knows_is_a_fact_all_the_same(told, soap_lot, owner):
    note_spill(**told | {"amount": Decimal(500)}, by=owner)

    assert soap_lot.left() < 0


@pytest.mark.parametrize(
    "wrong",
    [
        pytest.param({"what": SpillNote.What.MIX}, id="mix of a lot"),
        pytest.param({"amount": Decimal(0)}, id="nothing"),
        pytest.param({"done": ""}, id="nothing done"),
    ],
)
def test_what_cannot_be_is_refused_and_the_ledger_stays(told, soap_lot, owner, wrong):
    before = soap_lot.left()

    with pytest.raises(ValidationError):
        note_spill(**told | wrong, by=owner)

    assert soap_lot.left() == before
    assert not SpillNote.objects.exists()


def test_a_crew_notes_it_once_however_often_it_presses(client, technician, told):
    client.force_login(technician)
    form = typed(told)

    for _again in range(2):
        client.post(reverse("treatments:new_spill"), form)

    assert SpillNote.objects.get().noted_by == technician
    assert StockEntry.objects.filter(kind=StockEntry.Kind.DISPOSED).count() == 1


def test_what_broke_off_is_kept_when_the_button_is_pressed_again(
    client, technician, told, monkeypatch
):
    client.force_login(technician)
    client.raise_request_exception = False
    with monkeypatch.context() as broken:
        broken.setattr("treatments.spills.enter", _broken_off)
        assert client.post(reverse("treatments:new_spill"), typed(told)).status_code == 500
        assert not SpillNote.objects.exists()

    client.post(reverse("treatments:new_spill"), typed(told))

    assert SpillNote.objects.count() == 1


def _broken_off(*_given, **_told):
    raise OSError


def test_a_moment_to_come_is_refused(client, technician, told):
    client.force_login(technician)

    answer = client.post(
        reverse("treatments:new_spill"), typed(told, happened_at="2026-07-07T20:00")
    )

    assert answer.status_code == 422
    assert "happened_at" in answer.context["form"].errors


def test_what_to_do_comes_before_the_form(client, technician):
    client.force_login(technician)

    page = client.get(reverse("treatments:new_spill")).content.decode()

    # poison center, and the National Response Center [40CFR302-6]: numbers from memory
    for promised in ["1-800-222-1222", "1-800-424-8802", "Get people and animals away"]:
        assert promised in page


def test_nobody_noted_as_told_stands_out_in_the_list(client, owner, told):
    note_spill(**told | {"told": ""}, by=owner)
    client.force_login(owner)

    assert "Nobody is noted as told." in client.get(reverse("treatments:spills")).content.decode()


def test_a_note_is_not_changed_by_any_way(told, owner):
    note = note_spill(**told, by=owner)
    note.done = "Nothing."

    with pytest.raises(ValidationError):
        note.save()
    with pytest.raises(DatabaseError), transaction.atomic(), connection.cursor() as cursor:
        cursor.execute("UPDATE treatments_spillnote SET done = 'Nothing.'")

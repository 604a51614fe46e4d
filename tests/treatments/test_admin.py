"""The owner's emergency desk shows records and ledger and changes neither."""

import pytest
from django.contrib.auth import get_user_model
from django.urls import reverse

from treatments.recording import record_application


@pytest.fixture
def desk(client, db):
    client.force_login(get_user_model().objects.create_superuser("root"))
    return client


@pytest.mark.parametrize("noun", ["applicationrecord", "stockentry", "rotation", "product"])
def test_the_lists_can_be_read(desk, stated, noun):
    record_application(**stated)

    page = desk.get(reverse(f"admin:treatments_{noun}_changelist"))

    assert page.status_code == 200


@pytest.mark.parametrize("noun", ["applicationrecord", "stockentry", "rotation", "rotationweek"])
def test_nothing_is_added_by_hand(desk, noun):
    assert desk.get(reverse(f"admin:treatments_{noun}_add")).status_code == 403


def test_a_record_can_be_read_and_neither_changed_nor_removed(desk, stated):
    record = record_application(**stated)

    page = reverse("admin:treatments_applicationrecord_change", args=[record.pk])
    gone = reverse("admin:treatments_applicationrecord_delete", args=[record.pk])

    assert desk.get(page).status_code == 200
    assert desk.post(page, {"note": "changed"}).status_code == 403
    assert desk.post(gone, {"post": "yes"}).status_code == 403

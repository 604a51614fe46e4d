"""The owner's emergency desk shows what is kept for good and changes none of it."""

import pytest
from django.apps import apps
from django.contrib import admin
from django.contrib.auth import get_user_model
from django.urls import reverse

from clients.admin import DeskAdmin, ReadOnlyAdmin
from treatments.guarding import GUARDED
from treatments.models.append_only import AppendOnly
from treatments.recording import record_application

KEPT = [
    kind
    for kind in apps.get_models()
    if issubclass(kind, AppendOnly) or kind._meta.db_table in GUARDED
]
SHOWN = [kind for kind, desk in admin.site._registry.items() if isinstance(desk, DeskAdmin)]
READ = [kind for kind in SHOWN if isinstance(admin.site._registry[kind], ReadOnlyAdmin)]
# Told under what they belong to: lines of a statement; its paper is on the page of the statement.
UNDER_ANOTHER = {"StatementLine", "StatementPaper"}


@pytest.fixture
def desk(client, db):
    client.force_login(get_user_model().objects.create_superuser("root"))
    return client


def page_of(kind, name, *args):
    return reverse(f"admin:{kind._meta.label_lower.replace('.', '_')}_{name}", args=args)


@pytest.mark.parametrize("kind", KEPT, ids=lambda kind: kind.__name__)
def test_whatever_is_kept_for_good_can_be_read_and_nothing_else(kind, rf, admin_user):
    if kind.__name__ in UNDER_ANOTHER:
        assert kind not in admin.site._registry
        return
    request = rf.get("/admin/")
    request.user = admin_user

    told = admin.site._registry[kind].get_model_perms(request)

    assert told == {"add": False, "change": False, "delete": False, "view": True}


@pytest.mark.parametrize("kind", READ, ids=lambda kind: kind.__name__)
def test_nothing_that_is_read_is_added_by_hand(desk, kind):
    assert desk.get(page_of(kind, "add")).status_code == 403


def test_every_list_and_everything_in_it_can_be_read(book, desk):
    for kind in SHOWN:
        assert desk.get(page_of(kind, "changelist"), {"q": "a"}).status_code == 200
        thing = kind._default_manager.first()
        if thing is not None:
            assert desk.get(page_of(kind, "change", thing.pk)).status_code == 200


def test_everything_in_the_book_that_is_read_is_refused_a_change(book, desk):
    tried = 0
    for kind in READ:
        thing = kind._default_manager.first()
        if thing is not None:
            tried += 1
            assert desk.post(page_of(kind, "change", thing.pk), {"note": "-"}).status_code == 403
            gone = page_of(kind, "delete", thing.pk)
            assert desk.post(gone, {"post": "yes"}).status_code == 403

    assert tried > len(READ) / 2


def test_many_at_once_are_removed_no_more_than_one(desk, stated):
    record = record_application(**stated)
    kind = type(record)

    told = {"action": "delete_selected", "_selected_action": record.pk, "post": "yes"}
    desk.post(page_of(kind, "changelist"), told)

    assert kind.objects.filter(pk=record.pk).exists()


def test_what_the_desk_changed_is_overwritten_by_nobody(desk, reading_society):
    page = page_of(type(reading_society), "change", reading_society.pk)

    form = desk.get(page).context["adminform"].form
    desk.post(page, {**{k: v for k, v in form.initial.items() if v is not None}, "phone": "555"})

    reading_society.refresh_from_db()
    assert reading_society.phone == "555"
    assert reading_society.version == 2


def test_the_desk_gives_nobody_a_role(desk, technician):
    page = page_of(type(technician), "change", technician.pk)

    form = desk.get(page).context["adminform"].form

    assert "groups" not in form.fields

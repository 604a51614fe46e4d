"""A made-up business: exactly as large as wanted, the same each time, and a book that verifies."""

from datetime import date
from io import StringIO
from itertools import pairwise

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.db.models import Count
from django.test.utils import CaptureQueriesContext

from clients.models import Client, Planting, Property
from services.demonstration import loading
from services.generating import NotGenerated, Wanted, generate, wanted, work
from services.generating.running import batches_of
from services.models import Course, Visit
from services.project import serving
from services.verifying import verify
from treatments.models import ApplicationRecord, Business, JournalEntry, Lot, StockEntry

TODAY = date(2026, 7, 16)
SMALL = Wanted(clients=30, records=130, seed=7, today=TODAY)


@pytest.fixture(autouse=True, scope="module")
def small_batches():
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(wanted, "CLIENTS_A_BATCH", 20)
        patch.setattr(wanted, "RECORDS_A_BATCH", 50)
        patch.setattr(work, "CORRECTED", 10)
        yield


@pytest.fixture(scope="module")
def made(django_db_setup, django_db_blocker):
    """The small business, made once for the tests at the end of this file."""
    with django_db_blocker.unblock(), transaction.atomic():
        make()
        yield SMALL
        transaction.set_rollback(True)


def make(what=SMALL, step=lambda: None):
    generate(what, tell_passwords=lambda passwords: None, step=step)


def content():
    """Return what stands in the book, without keys and moments of the making."""
    records = ApplicationRecord.objects.order_by("number").values_list(
        *("number", "customer_name", "site_description", "product_name", "product_amount"),
        *("done_at", "received_at", "wind_mph", "lot_number", "void", "amends__number"),
    )
    lines = StockEntry.objects.order_by("pk").values_list(
        *("lot__lot_number", "lot__product__name", "kind", "amount", "happened_at")
    )
    beds = Planting.objects.order_by("pk").values_list("property__client__name", "name", "plants")
    visits = Visit.objects.order_by("pk").values_list("planned", "state", "completed_at")
    return [list(each) for each in (records, lines, beds, visits)]


@pytest.mark.django_db
def test_a_run_that_was_killed_leaves_whole_batches_and_the_next_ends_as_one_that_was_not(
    monkeypatch,
):
    with transaction.atomic():
        make()
        never_stopped = content()
        transaction.set_rollback(True)
    links = iter([work._link, work._link, killed])
    monkeypatch.setattr(work, "_link", lambda drawn, link=work._link: next(links)(drawn))

    with pytest.raises(KeyboardInterrupt):
        make()
    assert ApplicationRecord.objects.count() == 100
    assert verify().count == 0
    assert batches_of(SMALL) == 1
    monkeypatch.undo()

    make()
    assert content() == never_stopped
    assert verify().count == 0


def killed(drawn):
    raise KeyboardInterrupt


@pytest.mark.django_db
def test_a_business_made_up_otherwise_is_left_alone():
    make(Wanted(clients=30, records=60, seed=1, today=TODAY))
    names = set(Client.objects.values_list("name", flat=True))

    with pytest.raises(NotGenerated, match="seed 1"):
        make(Wanted(clients=30, records=60, seed=2, today=TODAY))
    assert set(Client.objects.values_list("name", flat=True)) == names


@pytest.mark.django_db
def test_a_book_that_holds_anything_is_left_alone(reading_society):
    with pytest.raises(NotGenerated, match="belongs to somebody"):
        make()
    assert list(Client.objects.all()) == [reading_society]
    assert not Business.objects.exists()


@pytest.mark.django_db
def test_the_demonstration_does_not_take_a_made_up_book_for_its_own():
    make(Wanted(clients=1, records=1, seed=1, today=TODAY))

    with pytest.raises(loading.BookInUse, match="Made-up Grounds"):
        loading.is_loaded()


@pytest.mark.django_db
def test_a_batch_asks_no_more_the_longer_the_book_is():
    asked = []
    what = Wanted(clients=60, records=200, seed=3, today=TODAY)
    with CaptureQueriesContext(connection) as seen:
        make(what, step=lambda: asked.append(len(seen)))

    each = [after - before for before, after in pairwise(asked[3:])]
    assert max(each) < 1.5 * min(each)


@pytest.mark.django_db
def test_the_command_tells_passwords_once_and_changes_nothing_the_second_time(monkeypatch):
    monkeypatch.setattr(serving, "prepare", lambda: None)
    first, second = StringIO(), StringIO()
    told = {"clients": 5, "records": 20, "seed": 1, "today": TODAY}

    call_command("generate", **told, stdout=first)
    call_command("generate", **told, stdout=second)

    assert "odile" in first.getvalue()
    assert "It is whole." in first.getvalue()
    assert "nothing in it is changed" in second.getvalue()
    with pytest.raises(CommandError, match="belongs to Made-up Grounds"):
        call_command("generate", **told | {"records": 21})
    with pytest.raises(CommandError, match="at least one client"):
        call_command("generate", **told | {"clients": 0})


@pytest.mark.usefixtures("db", "made")
def test_the_book_is_as_large_as_wanted_and_verifies():
    assert (Client.objects.count(), ApplicationRecord.objects.count()) == (30, 130)
    verdict = verify()
    assert (verdict.count, verdict.records) == (0, 130)
    assert verdict.size == JournalEntry.objects.count() > 130
    balances = [lot.balance for lot in Lot.objects.with_balance()]
    assert min(balances) >= 0
    assert max(balances) > 0


@pytest.mark.usefixtures("db", "made")
def test_every_row_is_one_that_the_book_itself_would_take():
    for model in (Client, Property, Planting, Course, Visit, Lot):
        for row in model.objects.all():
            row.full_clean(validate_unique=False, validate_constraints=False)
    for record in ApplicationRecord.objects.select_related("planting", "lot"):
        record.full_clean(validate_unique=False, validate_constraints=False)
        assert record.flags == []
        assert record.lot.product_id == record.product_id
        assert record.lot.received_on < record.done_at.date() < record.lot.expires_on
        assert record.applicator_licence_number


@pytest.mark.usefixtures("db", "made")
def test_each_record_hangs_on_a_visit_that_was_made_or_corrects_another():
    corrections = ApplicationRecord.objects.filter(amends__isnull=False)
    assert corrections.count() == 13
    hanging = ApplicationRecord.objects.filter(visits__state="COMPLETED", amends__isnull=True)
    assert hanging.count() == 130 - 13
    made = Visit.objects.filter(state="COMPLETED").aggregate(last=Count("pk"))["last"]
    assert made > 20
    assert not Visit.objects.open().filter(planned__lt=TODAY).exists()


@pytest.mark.usefixtures("db", "made")
def test_names_say_that_they_are_invented():
    assert all("(invented " in name for name in Client.objects.values_list("name", flat=True))
    assert all(each.endswith("@example.org") for each in emails())
    business = Business.of_this_book()
    assert business.invented
    assert "invented" in business.name


def emails():
    return Client.objects.exclude(email="").values_list("email", flat=True)

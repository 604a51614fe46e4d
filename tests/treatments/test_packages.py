"""Packages of many records: made while nobody waits, paper after paper, taken by who asked."""

from datetime import UTC, datetime, timedelta
from io import BytesIO
from zipfile import ZipFile

import pytest
from django.urls import reverse
from django.utils import timezone

from clients.access import Role
from services import packages, packing
from services.models import AskedPackage
from services.packages import (
    KEPT_FOR,
    LEASE,
    MOST_ATTEMPTS,
    ask_package,
    file_of,
    folder_of,
    make_package,
    sweep_packages,
)
from treatments.inspecting import end_grant
from treatments.models import ApplicationRecord, InspectorGrant, JournalEntry

NOW = datetime(2026, 7, 20, 12, tzinfo=UTC)


@pytest.fixture(autouse=True)
def two_on_a_paper(monkeypatch, settings, tmp_path):
    """Let two records be many, and one fill a paper."""
    settings.DATA = tmp_path
    monkeypatch.setattr(packing, "ON_ONE_PAPER", 1)
    monkeypatch.setattr(packages, "ON_ONE_PAPER", 1)


@pytest.fixture
def numbers(book):
    return sorted(ApplicationRecord.objects.values_list("number", flat=True))[:2]


@pytest.fixture
def asked(book, numbers):
    return ask_package(numbers, language="en", with_notes=True, by=book.people[Role.OWNER], now=NOW)


class Killed(BaseException):
    """The worker's process was killed."""


def test_many_records_are_asked_for_and_taken_when_they_are_packed(client, book, numbers):
    client.force_login(book.people[Role.OWNER])

    way = client.get(reverse("services:records_package"))["Location"]
    row = AskedPackage.objects.latest("pk")
    waiting = client.get(way).content.decode()
    taken_early = client.get(reverse("services:take_package", args=[row.pk]))
    assert make_package(row.pk)
    done = client.get(way).content.decode()
    taken = client.get(reverse("services:take_package", args=[row.pk]))

    assert "It waits for its turn" in waiting
    assert taken_early.status_code == 404
    assert "Take the package" in done
    archive = ZipFile(BytesIO(b"".join(taken.streaming_content)))
    assert archive.testzip() is None
    assert sum(name.endswith(".pdf") for name in archive.namelist()) == len(row.numbers)


def test_asked_again_while_it_is_open_it_is_the_same(asked, book, numbers):
    again = ask_package(
        numbers, language="en", with_notes=True, by=book.people[Role.OWNER], now=NOW
    )

    assert again == asked


def test_a_killed_worker_loses_one_paper(asked, monkeypatch):
    drawn, paper = [], packing._paper

    def draw_and_die(part, wanted):
        if drawn:
            raise Killed
        drawn.append(part)
        return paper(part, wanted)

    monkeypatch.setattr(packing, "_paper", draw_and_die)
    with pytest.raises(Killed):
        make_package(asked.pk)
    monkeypatch.setattr(packing, "_paper", lambda part, wanted: drawn.append(part) or b"%PDF")

    assert not make_package(asked.pk)  # the lease of the killed one still holds
    assert make_package(asked.pk, now=timezone.now() + LEASE + timedelta(seconds=1))
    assert len(drawn) == 2


def test_when_its_time_is_over_another_goes_on(asked, monkeypatch):
    monkeypatch.setattr(packages, "MOST_SECONDS", -1)

    turns = [make_package(asked.pk) for _turn in range(2)]

    asked.refresh_from_db()
    assert turns == [False, False]
    assert asked.drawn == len(asked.numbers)


def test_it_is_packed_once_and_the_journal_has_its_papers(asked):
    before = JournalEntry.objects.count()

    assert [make_package(asked.pk) for _time in range(2)] == [True, False]

    assert JournalEntry.objects.count() == before + 1


def test_nobody_else_takes_it(client, book, asked):
    make_package(asked.pk)
    client.force_login(book.people[Role.OFFICE])

    for name in ("asked_package", "take_package"):
        assert client.get(reverse(f"services:{name}", args=[asked.pk])).status_code == 404


def test_an_inspector_takes_it_within_the_grant_alone(client, book, numbers):
    inspector = book.people[Role.INSPECTOR]
    row = ask_package(numbers, language="en", with_notes=False, by=inspector, now=NOW)
    make_package(row.pk)
    client.force_login(inspector)
    way = reverse("services:take_package", args=[row.pk])

    within = client.get(way)
    end_grant(InspectorGrant.objects.get(), at=timezone.now())
    after = client.get(way)

    assert (within.status_code, after.status_code) == (200, 404)


def test_it_goes_after_a_day_and_is_given_up_after_five_tries(asked):
    AskedPackage.objects.filter(pk=asked.pk).update(attempts=MOST_ATTEMPTS)
    sweep_packages(NOW)
    asked.refresh_from_db()
    assert asked.failed_at == NOW
    folder_of(asked).mkdir(parents=True)
    file_of(asked).write_bytes(b"PK")

    sweep_packages(NOW + KEPT_FOR + timedelta(seconds=1))

    assert not AskedPackage.objects.exists()
    assert not folder_of(asked).exists()


def test_a_row_of_amendments_reads_no_others(book, django_assert_num_queries):
    own = book.own["number"]
    with django_assert_num_queries(2):
        assert packing.chains_of([own]) == [[own]]

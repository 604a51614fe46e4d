"""A package of records: complete, the same twice, and checked by a program that is not ours."""

import csv
import hashlib
import json
import subprocess
import sys
from datetime import UTC, datetime
from io import BytesIO, StringIO
from pathlib import Path
from zipfile import ZipFile

import pytest
from django.core.management import CommandError, call_command
from django.urls import reverse
from pypdf import PdfReader

from clients.access import Role
from services import packing
from services.packing import Wanted, package
from treatments.inspecting import end_grant, grant
from treatments.models import ApplicationRecord, InspectorGrant, InspectorLook, JournalEntry
from treatments.recording import amend_application

NOW = datetime(2026, 7, 20, 12, tzinfo=UTC)


@pytest.fixture
def amended(book):
    """The own record, corrected once; the foreign one stands beside it."""
    record = ApplicationRecord.objects.get(number=book.own["number"])
    return amend_application(
        record,
        reason="The wind was read twice.",
        by=book.people[Role.OWNER],
        wind_direction="NW",
        note="=SUM(A1) the key lies under the pot",
    )


def packed(records, **changes):
    told = {"language": "en", "now": NOW, "with_notes": True} | changes
    return b"".join(package(Wanted([each.number for each in records], **told)))


def opened(data):
    return ZipFile(BytesIO(data))


def checked(folder, *arguments):
    """Run the verifier of the package in its folder, with nothing but Python."""
    return subprocess.run(
        [sys.executable, "-I", "-c", RUN, *arguments],
        cwd=folder,
        capture_output=True,
        text=True,
        check=False,
    )


RUN = (
    "import sys; sys.path.insert(0, '.'); import standalone_package; "
    "sys.exit(standalone_package.main(*sys.argv[1:]))"
)


def test_a_package_holds_paper_tables_proofs_and_how_to_check(amended):
    archive = opened(packed([amended]))

    assert archive.testzip() is None
    assert archive.namelist() == [
        "README.txt",
        "records.pdf",
        "records.csv",
        "records.json",
        "checkpoint.txt",
        "proofs.jsonl",
        "standalone_verify.py",
        "standalone_package.py",
    ]
    assert b"python3 standalone_package.py" in archive.read("README.txt")


def test_the_same_records_are_the_same_tables(amended):
    first = packed([amended])
    again = opened(packed([amended]))

    for name in ("records.csv", "records.json", "README.txt"):
        assert opened(first).read(name) == again.read(name)


def test_the_journal_keeps_the_hash_of_the_paper_that_was_handed_out(amended):
    paper = opened(packed([amended])).read("records.pdf")

    entry = JournalEntry.objects.latest("seq")
    assert json.loads(entry.envelope)["kind"] == "paper"
    assert hashlib.sha256(paper).hexdigest() in entry.body


def test_the_paper_has_an_index_that_leads_to_each_record(amended):
    records = ApplicationRecord.objects.filter(amends=None).order_by("number")

    pdf = PdfReader(BytesIO(opened(packed(records)).read("records.pdf")))

    titles = [each.title for each in pdf.outline]
    assert titles[0] == "Index"
    assert len(titles) == 1 + len(records)
    links = [note.get_object() for note in pdf.pages[0]["/Annots"]]
    assert len(links) == len(records)


def test_many_records_are_told_on_several_papers_and_none_is_left_out(amended, monkeypatch):
    monkeypatch.setattr(packing, "ON_ONE_PAPER", 1)

    archive = opened(packed(ApplicationRecord.objects.order_by("number")))

    papers = [name for name in archive.namelist() if name.endswith(".pdf")]
    assert papers == ["records-1-to-1.pdf", "records-2-to-2.pdf"]
    rows = list(csv.DictReader(StringIO(archive.read("records.csv").decode("utf-8-sig"))))
    assert [row["number"] for row in rows] == ["1", "2", "3"]
    body = json.loads(JournalEntry.objects.latest("seq").body)
    assert [each["name"] for each in body["papers"]] == [*papers, "checkpoint.txt"]


def test_tables_tell_the_record_and_what_amends_it(amended):
    archive = opened(packed([amended]))

    rows = list(csv.DictReader(StringIO(archive.read("records.csv").decode("utf-8-sig"))))
    told = json.loads(archive.read("records.json"))
    assert [row["number"] for row in rows] == [str(each["number"]) for each in told]
    assert rows[1]["amends"] == rows[0]["number"]
    assert rows[1]["product_name"] == "Quiet Soap"


def test_the_proofs_are_checked_by_a_program_of_its_own(amended, tmp_path):
    opened(packed(ApplicationRecord.objects.all())).extractall(tmp_path)

    done = checked(tmp_path, "proofs.jsonl", "checkpoint.txt")

    assert (done.returncode, done.stderr) == (0, "")
    assert "3 entries proved" in done.stdout


@pytest.mark.parametrize("place", ["body", "envelope", "proof"])
def test_one_changed_sign_is_found(amended, tmp_path, place):
    opened(packed([amended])).extractall(tmp_path)
    path = Path(tmp_path, "proofs.jsonl")
    head, first, *rest = path.read_text(encoding="utf-8").splitlines(keepends=True)
    told = json.loads(first)
    if place == "proof":
        told["proof"][0] = told["proof"][0][::-1]
    else:
        told[place] = told[place].replace("20", "21", 1)
    path.write_text("".join([head, json.dumps(told) + "\n", *rest]), encoding="utf-8")

    assert checked(tmp_path).returncode == 1


def test_for_an_inspector_a_note_is_withheld_and_the_entry_still_proved(amended, tmp_path):
    data = packed([amended], with_notes=False)
    opened(data).extractall(tmp_path)

    done = checked(tmp_path)

    assert done.returncode == 0
    assert "1 without body" in done.stdout
    for name in ("records.csv", "records.json", "proofs.jsonl", "records.pdf"):
        assert b"under the pot" not in opened(data).read(name)


def test_the_command_packs_what_is_asked_for(amended, tmp_path, capsys):
    call_command("pack_records", tmp_path / "all.zip", jurisdiction="US-PA")

    assert "3 records" in capsys.readouterr().out
    with pytest.raises(CommandError, match="Not written"):
        call_command("pack_records", tmp_path / "all.zip")
    with pytest.raises(CommandError, match="No record"):
        call_command("pack_records", tmp_path / "none.zip", words="nobody at all")


def test_without_a_grant_an_inspector_sees_nothing(client, book, amended):
    end_grant(InspectorGrant.objects.get(), at=datetime.now(UTC))
    client.force_login(book.people[Role.INSPECTOR])

    assert client.get(reverse("services:records_package")).status_code == 404
    assert client.get(reverse("treatments:record", args=[amended.number])).status_code == 404
    assert not client.get("/api/v1/records/").json()["results"]


def test_a_grant_for_one_client_opens_that_clients_records_alone(client, book, amended):
    end_grant(InspectorGrant.objects.get(), at=datetime.now(UTC))
    grant(
        inspector=book.people[Role.INSPECTOR],
        purpose="Complaint",
        jurisdictions=[],
        client=amended.planting.property.client,
        by=book.people[Role.OWNER],
        now=datetime.now(UTC),
    )
    client.force_login(book.people[Role.INSPECTOR])

    own = client.get(reverse("treatments:record", args=[amended.number]))
    foreign = client.get(reverse("treatments:record", args=[book.foreign["number"]]))

    assert (own.status_code, foreign.status_code) == (200, 404)
    assert "under the pot" not in own.content.decode()


def test_a_grant_holds_fourteen_days_to_the_second(book):
    row = InspectorGrant.objects.get()

    last = row.starts_at.replace(day=row.starts_at.day + 14)
    assert row.ends_at == last
    assert not row.is_open_at(last)


def test_every_look_is_kept_and_shown_to_the_owner(client, book, amended):
    client.force_login(book.people[Role.INSPECTOR])
    page = reverse("treatments:record", args=[amended.number])
    client.get(page)
    client.get(reverse("treatments:record", args=[999999]))
    client.force_login(book.people[Role.OWNER])

    shown = client.get(reverse("treatments:inspectors")).content.decode()

    assert [look.address for look in InspectorLook.objects.all()] == [page]
    assert page in shown


def test_the_owner_makes_a_grant_by_the_page(client, book):
    client.force_login(book.people[Role.OWNER])
    told = {"inspector": book.people[Role.INSPECTOR].pk, "purpose": "Second look", "days": 14}

    refused = client.post(reverse("treatments:new_grant"), told)
    kept = client.post(reverse("treatments:new_grant"), told | {"jurisdictions": ["US-PA"]})

    assert (refused.status_code, kept.status_code) == (422, 302)
    assert "Choose jurisdictions or a client" in refused.content.decode()
    assert InspectorGrant.objects.count() == 2


@pytest.mark.parametrize("days", [("0001-01-01", ""), ("", "9999-12-31")])
def test_a_day_that_no_clock_reaches_is_refused_before_the_inspector_meets_it(client, book, days):
    client.force_login(book.people[Role.OWNER])
    told = {"inspector": book.people[Role.INSPECTOR].pk, "purpose": "Second look", "days": 14}
    first, last = days
    typed = {**told, "jurisdictions": ["US-PA"], "first_day": first, "last_day": last}

    assert client.post(reverse("treatments:new_grant"), typed).status_code == 422
    sifted = client.get(reverse("treatments:records"), {"first": first, "last": last})
    assert sifted.status_code == 200
    assert "Ensure this value is" in sifted.content.decode()


@pytest.mark.parametrize("name", ["records_package", "records_pdf"])
def test_what_cannot_be_read_hands_nothing_out(client, book, amended, name):
    client.force_login(book.people[Role.INSPECTOR])

    answer = client.get(reverse(f"services:{name}"), {"first": "2026-02-30"})

    assert answer.status_code == 422
    assert "cannot be read" in answer.content.decode()

"""The earliest book that anybody could have is brought to today: whole, guarded and verified."""

import json
import os
import subprocess
import sys
from pathlib import Path
from urllib.parse import urlsplit

import pytest
from django.db import connection

ROOT = Path(__file__).resolve().parents[2]
BEGINNING = Path(__file__).with_name("book_of_the_beginning.py")
NAME = "duskbook_beginning"
ASKED = """
import json
from clients.models import AccessWindow, Client, Neighbour, Planting, Property
from services.models import ClientLink, Course, Crew, Dispatch, Hold, LoadLine, Outbox
from services.models import Technician, Truck, Visit, Yard
from treatments import models as m
from treatments.guarding import missing_guards
from treatments.recording import history_of
kinds = [AccessWindow, Client, Neighbour, Planting, Property, ClientLink, Course, Crew, Dispatch]
kinds += [Hold, LoadLine, Outbox, Technician, Truck, Visit, Yard]
kinds += [m.ActiveIngredient, m.Applicator, m.Business, m.Calibration, m.Certificate, m.Lot]
kinds += [m.AcceptedWarning, m.LabelRate, m.Pest, m.Product, m.ProductIngredient, m.Rotation]
kinds += [m.ScoutingCount, m.Sprayer]
first = m.ApplicationRecord.objects.get(number=1)
print(json.dumps({
    "once": {kind.__name__: kind.objects.count() for kind in kinds},
    "left": str(m.Lot.objects.get().left()),
    "history": [str(each.record.product_amount) for each in history_of(first)],
    "stands": list(m.ApplicationRecord.objects.current().values_list("number", flat=True)),
    "of_visit": Visit.objects.get(state="COMPLETED").records.count(),
    "role": Technician.objects.get().user.groups.get().name,
    "unguarded": sorted(missing_guards("default")),
}))
"""
CHANGED = """
from django.db import IntegrityError, connection
with connection.cursor() as cursor:
    try:
        cursor.execute("UPDATE treatments_applicationrecord SET note = 'x' WHERE number = 1")
    except IntegrityError:
        print("refused")
"""


@pytest.fixture
def environment(tmp_path):
    """A folder and a database of their own: SQLite, and PostgreSQL where the tests run on it."""
    told = {name: value for name, value in os.environ.items() if name != "BROKER_URL"}
    told |= {"DUSKBOOK_DATA": str(tmp_path), "DUSKBOOK_ENVIRONMENT": "ready"}
    told |= {"DJANGO_SETTINGS_MODULE": "services.project.settings", "PYTHONPATH": str(ROOT)}
    if connection.vendor != "postgresql":
        yield told
        return
    name = f"{NAME}_{os.environ.get('PYTEST_XDIST_WORKER', 'alone')}"
    made = connection.creation._nodb_cursor
    with made() as cursor:
        cursor.execute(f"DROP DATABASE IF EXISTS {name}")
        cursor.execute(f"CREATE DATABASE {name}")
    if "DATABASE_URL" in told:
        told["DATABASE_URL"] = urlsplit(told["DATABASE_URL"])._replace(path=f"/{name}").geturl()
    yield told | {"PGDATABASE": name}
    with made() as cursor:
        cursor.execute(f"DROP DATABASE {name} WITH (FORCE)")


def run(environment, *words):
    done = subprocess.run(
        [sys.executable, *words], cwd=ROOT, env=environment, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.mark.slow
@pytest.mark.django_db
def test_the_book_of_the_beginning_is_brought_to_today(environment):
    run(environment, str(BEGINNING))

    run(environment, "manage.py", "migrate", "--verbosity", "0")

    run(environment, "manage.py", "check", "--database", "default")
    told = json.loads(run(environment, "manage.py", "shell", "--no-imports", "--command", ASKED))
    twice = {name for name, number in told["once"].items() if number != 1}
    assert twice == {"Visit"}
    assert told["once"]["Visit"] == 2
    assert (told["left"], told["history"], told["stands"]) == (
        "120.000",
        ["9.000", "8.000"],
        [2],
    )
    assert (told["of_visit"], told["role"], told["unguarded"]) == (2, "owner", [])
    changed = run(environment, "manage.py", "shell", "--no-imports", "--command", CHANGED)
    assert changed.strip() == "refused"
    # The journal took in what was kept before it began, and a second migrate takes in nothing.
    before = run(environment, "manage.py", "verify")
    run(environment, "manage.py", "migrate", "--verbosity", "0")
    assert run(environment, "manage.py", "verify") == before
    assert "2" in before

"""Log lines: as JSON or plain, with the request they belong to, and never with a secret."""

import json
import logging
import re
from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command
from django.test import Client as Browser
from django.urls import get_resolver, reverse
from django.utils import timezone

from clients.models import Client
from services import devices, telling
from services.models import ClientLink, CrewFeed
from services.program_keys import make_key
from services.project.logs import SECRET_ADDRESS, JsonLines, PlainLines, current_request
from services.safekeeping import make_backup
from services.safekeeping.sealing import new_key

FORMS = [JsonLines(), PlainLines()]


@pytest.fixture(autouse=True)
def no_request_before():
    """Let lines belong to no request but those of the test."""
    current_request.set(None)


def record_of(**facts):
    return logging.makeLogRecord({"levelname": "WARNING", "name": "services.test", **facts})


def test_a_log_line_is_one_line_of_json_whatever_was_sent():
    line = JsonLines().format(record_of(msg="Refused: %s", args=("a\nb",), visit=7))

    assert "\n" not in line
    assert json.loads(line)["message"] == "Refused: a\nb"
    assert json.loads(line)["visit"] == 7


def test_a_plain_line_is_one_line_whatever_was_sent():
    line = PlainLines().format(record_of(msg="Refused: %s", args=("a\nb\x1b[2J",), visit="7\r8"))

    assert line.endswith(r"WARNING services.test: Refused: a\nb\x1b[2J (visit 7\r8)")
    assert line.isprintable()


@pytest.mark.parametrize("form", FORMS)
def test_a_trace_is_told(form):
    try:
        raise LookupError("gone")
    except LookupError as error:
        line = form.format(record_of(msg="Lost", exc_info=(type(error), error, None)))

    assert "LookupError: gone" in line


@pytest.mark.django_db
def test_a_line_names_its_request_and_the_person(client, owner, monkeypatch):
    client.force_login(owner)
    answer = client.get(reverse("treatments:records"))

    told = json.loads(JsonLines().format(record_of(msg="Later")))

    assert told["request"] == answer.headers["X-Request-ID"]
    assert told["user"] == owner.pk


def secret_routes():
    """Return an address of each kind that holds a secret, with the secret put in."""
    from tests.architecture.addresses import walked

    routes = [route for route, _view in walked(get_resolver().url_patterns)]
    return [route for route in routes if "<str:token>" in route or "enrol/<str:code>" in route]


def test_every_address_that_holds_a_secret_is_struck_out():
    assert len(secret_routes()) >= 4
    for route in secret_routes():
        address = "/" + re.sub(r"<str:(token|code)>", "s3cr3t-Word_", route)
        assert "s3cr3t" not in SECRET_ADDRESS.sub(r"\1…", f"Gone: {address}"), route


@pytest.fixture
def lines():
    """Gather every line that any logger writes, down to the least, in both forms."""
    out, root = StringIO(), logging.getLogger()
    handlers = []
    for form in FORMS:
        handler = logging.StreamHandler(out)
        handler.setFormatter(form)
        handlers.append(handler)
        root.addHandler(handler)
    before = {name: logging.getLogger(name).level for name in [*logging.root.manager.loggerDict]}
    level = root.level
    root.setLevel(logging.DEBUG)
    for name in before:
        logging.getLogger(name).setLevel(logging.DEBUG)
    yield out
    for name, was in before.items():
        logging.getLogger(name).setLevel(was)
    root.setLevel(level)
    for handler in handlers:
        root.removeHandler(handler)


def sign_in_twice(owner):
    """Sign in with a wrong and the right password; return both, and the session."""
    browser = Browser(raise_request_exception=False)
    wrong, right = "a wrong word that nobody has", "one long password to test with"
    for password in (wrong, right):
        browser.post(reverse("login"), {"username": owner.username, "password": password})
    assert browser.session.get("_auth_user_id") == str(owner.pk)
    return [wrong, right, browser.session.session_key]


def follow_links(client):
    """Open a client's link, open it when it has ended, and one that never was."""
    token, never = telling.make_link(client, now=timezone.now()), "n" * 43
    browser = Browser(raise_request_exception=False)
    codes = [browser.get(f"/c/{token}").status_code]
    ClientLink.objects.update(revoked_at=timezone.now())
    codes += [browser.get(f"/c/{each}").status_code for each in (token, never)]
    assert codes == [302, 410, 404]
    return [token, never]


def enrol_a_phone(person, by):
    """Enrol a phone by its code, try the code again, and let the phone ask without its name."""
    _device, code = devices.make_code(person, name="Phone", by=by, now=timezone.now())
    browser = Browser(raise_request_exception=False)
    browser.get(reverse("services:enrol_by_code", args=[code]))
    browser.post(reverse("services:enrol"), {"code": code})
    token = browser.cookies["phone"].value
    assert Browser().post(reverse("services:enrol"), {"code": code}).status_code == 404
    assert Browser().get(reverse("services:enrol_by_code", args=[code])).status_code == 404
    browser.post("/api/v1/sync/", {}, content_type="application/json")
    return [code, token]


def use_a_key(person):
    """Ask the API with a key, outside its scopes, and with a wrong one."""
    until = timezone.localdate() + timedelta(days=30)
    key = make_key(
        person, name="Books", scopes=["read"], expires_on=until, by=person, now=timezone.now()
    )
    wrong = "duskbook_" + "w" * 43
    browser = Browser(raise_request_exception=False)
    codes = [
        ask("/api/v1/records/", headers={"Authorization": f"Bearer {each}"}).status_code
        for each, ask in ((key, browser.get), (key, browser.post), (wrong, browser.get))
    ]
    assert codes[0] == 200
    assert codes[2] == 401
    return [key, wrong]


def read_a_calendar(crew):
    """Ask for a crew's calendar by an address that was never given out."""
    never = "f" * 43
    browser = Browser(raise_request_exception=False)
    assert browser.get(f"/feeds/{never}/visits.ics").status_code == 404
    assert not CrewFeed.objects.exists()
    return [never]


def back_up(folder):
    """Make a backup, and try to open it with another key."""
    key, other = new_key(), new_key()
    file = make_backup(folder, key=key, now=timezone.now())
    with pytest.raises(Exception, match=r"\w"):
        call_command("restore", str(file), drill=True, stdout=StringIO(), stderr=StringIO())
    return [key, other]


@pytest.mark.django_db(transaction=True)
def test_no_secret_is_ever_in_the_log(
    lines, owner, technician, crew, stated, reading_society, settings, tmp_path
):
    settings.DATA, settings.BACKUPS, settings.BACKUP_KEY = tmp_path, tmp_path, new_key()
    secrets = [
        *sign_in_twice(owner),
        *follow_links(Client.objects.get()),
        *enrol_a_phone(technician, owner),
        *use_a_key(owner),
        *read_a_calendar(crew),
        *back_up(tmp_path),
        settings.BACKUP_KEY,
        settings.SECRET_KEY,
    ]

    told = lines.getvalue()

    assert "/c/…" in told  # what was to be struck out was told
    assert "phone enrolled" in told
    for secret in secrets:
        assert secret not in told, secret

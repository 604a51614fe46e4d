"""Reports of errors say where in the code, and nothing of anybody; without an address, none."""

import json
import logging
import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.core.exceptions import ImproperlyConfigured

from services.project.error_reports import bare, report_errors

ROOT = Path(__file__).resolve().parents[3]
SHOW = "import sys; print('sentry_sdk' in sys.modules, 'prometheus_client' in sys.modules)"
# What a request, a person and an error may bring along; every one is invented.
PRIVATE = [
    "Reading Society",
    "2 Shelf Street",
    "owner@example.org",
    "203.0.113.9",
    "s3cr3t",
    "4711",
]


@pytest.fixture
def sent():
    """Report into a list, by a transport that sends nothing anywhere."""
    import sentry_sdk
    from sentry_sdk.transport import Transport

    travelled = []

    class IntoAList(Transport):
        def capture_envelope(self, envelope):
            travelled.append(envelope.serialize().decode())

    report_errors("https://key@reports.example.org/1", transport=IntoAList)
    yield travelled
    sentry_sdk.get_client().close()
    sentry_sdk.init()


@pytest.mark.urls("tests.services.project.failing_urls")
@pytest.mark.django_db
def test_an_error_in_a_page_is_reported_without_anybody(client, owner, sent):
    owner.email = "owner@example.org"
    owner.save()
    client.force_login(owner)
    client.raise_request_exception = False
    client.cookies["phone"] = "s3cr3t"

    answer = client.post(
        "/c/s3cr3t?name=Reading+Society",
        {"address": "2 Shelf Street", "number": "4711"},
        REMOTE_ADDR="203.0.113.9",
        headers={"Authorization": "Bearer s3cr3t"},
    )

    assert answer.status_code == 500
    (report,) = [each for each in sent if '"exception"' in each]
    event = json.loads(report.splitlines()[-1])
    assert event["exception"]["values"][-1]["type"] == "LookupError"
    assert event["exception"]["values"][-1]["stacktrace"]["frames"][-1]["function"] == "fail"
    assert event["tags"]["request"] == answer.headers["X-Request-ID"]
    for private in [*PRIVATE, owner.username, str(ROOT)]:
        assert private not in report, private


def test_a_line_in_the_log_is_reported_without_what_was_put_into_it(sent):
    logging.getLogger("services.test").error("a paper of %s is lost", "Reading Society")

    (report,) = sent
    assert "a paper of %s is lost" in report
    assert "Reading Society" not in report


def test_only_what_is_listed_leaves():
    event = {
        "event_id": "1",
        "user": {"id": 7},
        "request": {"url": "/c/s3cr3t"},
        "extra": {"sys.argv": ["s3cr3t"]},
        "contexts": {"trace": {}},
        "exception": {"values": [{"type": "E", "value": "s3cr3t", "stacktrace": None}]},
    }

    assert set(bare(event, None)) == {"event_id", "exception", "tags"}
    assert "s3cr3t" not in json.dumps(bare(event, None))


@pytest.mark.parametrize("variables", [{}, {"SENTRY_DSN": "https://key@reports.example.org/1"}])
def test_without_an_address_nothing_of_it_is_even_imported(variables, tmp_path):
    kept = {name: os.environ[name] for name in ("PATH", "HOME") if name in os.environ}
    ready = {"DUSKBOOK_ENVIRONMENT": "ready", "DUSKBOOK_DATA": str(tmp_path)}

    shown = subprocess.run(
        [sys.executable, "manage.py", "shell", "--no-imports", "-c", SHOW],
        cwd=ROOT,
        env=kept | ready | variables,
        capture_output=True,
        text=True,
        check=True,
    )

    assert shown.stdout.split()[-2:] == [str(bool(variables)), "False"]


def test_an_address_that_is_none_is_refused_with_a_sentence():
    with pytest.raises(ImproperlyConfigured, match="SENTRY_DSN is no address of Sentry"):
        report_errors("https://reports.example.org")

"""Every example of the page about the API is run, in order, as it is written there."""

import shlex
from string import Template

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.utils import timezone

from services.models import BookExport
from services.models.programs import SCOPES
from services.program_keys import make_key
from services.showing.examples import EXAMPLES
from services.whole_book import run_export

pytestmark = pytest.mark.django_db

BOOK = "http://testserver"
FILES = {"clients.csv": "name,language\r\nLibrary Friends,en\r\n"}


@pytest.fixture
def key(book):
    """A key of the owner with every scope."""
    owner = next(iter(book.people.values()))
    now = timezone.now()
    return make_key(
        owner,
        name="Examples",
        scopes=[code for code, _words in SCOPES],
        expires_on=now.date(),
        by=owner,
        now=now,
    )


def asked(command, known):
    """Return a command of curl as method, address, headers and what is sent."""
    words = iter(shlex.split(Template(command).substitute(known).replace("\\\n", " ")))
    assert next(words) == "curl"
    method, address, headers, body, parts = "GET", "", {}, None, {}
    for word in words:
        if word == "-H":
            name, _colon, value = next(words).partition(": ")
            headers[name] = value
        elif word == "-X":
            method = next(words)
        elif word == "--json":
            body, method = next(words), "POST" if method == "GET" else method
        elif word == "-F":
            name, _is, value = next(words).partition("=")
            parts[name], method = value, "POST"
        elif word == "-o":
            next(words)
        else:
            assert word.startswith(BOOK), word
            address = word.removeprefix(BOOK)
    return method, address, headers, body, parts


def sent_with(body, parts):
    """Return what the browser of the tests is told to send."""
    if parts:
        files = {
            name: SimpleUploadedFile(value[1:], FILES[value[1:]].encode())
            for name, value in parts.items()
            if value.startswith("@")
        }
        return {"data": parts | files}
    return {"data": body or "", "content_type": "application/json"}


def member(told, path):
    """Return the member of an answer that a path names."""
    for step in path.split("."):
        told = told[int(step)] if step.isdecimal() else told[step]
    return told


def test_each_example_does_what_it_says(book, key):
    browser, known = Client(), {"BOOK": BOOK, "KEY": key}

    for example in EXAMPLES:
        method, address, headers, body, parts = asked(example.command, known)
        sends = {} if method == "GET" else sent_with(body, parts)
        answer = getattr(browser, method.lower())(address, headers=headers, **sends)
        said = b"" if answer.streaming else answer.content
        assert answer.status_code == example.status, (example.command, said)
        known |= {name: member(answer.json(), path) for name, path in example.gives.items()}
        for row in BookExport.objects.filter(is_waiting=True):
            run_export(row.pk)


def test_no_example_works_without_its_key(book, key):
    browser, known = (
        Client(),
        dict.fromkeys(["BOOK", "CLIENT", "PROPERTY", "PLANTING", "PEST"], "1"),
    )
    known |= dict.fromkeys(["FILE", "EXPORT", "VISIT", "NUMBER"], "1")
    known |= {"BOOK": BOOK, "KEY": key[:-1]}

    for example in EXAMPLES:
        method, address, headers, _body, _parts = asked(example.command, known)

        assert getattr(browser, method.lower())(address, headers=headers).status_code == 401

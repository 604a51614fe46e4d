"""The phone's page as files: all of it is kept by the worker, small enough, in two languages."""

import gzip
import hashlib
import json
import re
from base64 import b64encode

import pytest

from services.field import shell

CSP = "Content-Security-Policy"
MOST = 250_000  # bytes of a first load
PACKED = {".woff2", ".png"}
PLACE = re.compile(r"\{(\w+)\}")
IMPORTED = re.compile(r'from "\./([\w.]+)"')


def words(language):
    text = shell.file_of(f"field/words_{language}.js").read_text(encoding="utf-8")
    return json.loads(text[text.index("{") : text.rindex("}") + 1])


def files():
    return {name: shell.file_of(name) for name in shell.names()}


def test_both_languages_have_the_same_words_with_the_same_places():
    english, spanish = words("en"), words("es")

    assert english.keys() == spanish.keys()
    for name, said in english.items():
        assert set(PLACE.findall(said)) == set(PLACE.findall(spanish[name])), name


def test_every_word_that_a_script_names_is_there():
    named = re.compile(r'\bt\("([\w-]+)"')
    scripts = [
        each.read_text(encoding="utf-8") for each in files().values() if each.suffix == ".js"
    ]

    wanted = {name for text in scripts for name in named.findall(text)}

    assert wanted <= words("en").keys()


def test_every_script_that_another_names_is_kept():
    kept = {name.removeprefix("field/") for name in files()}
    for name, file in files().items():
        if file.suffix == ".js":
            assert set(IMPORTED.findall(file.read_text(encoding="utf-8"))) <= kept, name


def test_a_first_load_is_small():
    page = len(gzip.compress(shell.page().encode()))
    rest = sum(map(size_as_sent, files().values()))
    worker = len(gzip.compress(shell.worker().encode()))

    assert page + rest + worker < MOST


def size_as_sent(file):
    """Return the bytes of a file as it is sent: packed, unless it is packed by nature."""
    content = file.read_bytes()
    return len(content if file.suffix in PACKED else gzip.compress(content))


def test_static_files_are_sent_packed(settings):
    assert "Compressed" in settings.STATIC_STORE


@pytest.mark.parametrize("path", ["/field/", "/field/worker.js"])
def test_page_and_worker_are_asked_about_each_time_and_set_no_cookie(client, path):
    answer = client.get(path)

    assert answer["Cache-Control"] == "no-cache"
    assert not answer.cookies


def test_the_policy_lets_the_styles_of_the_page_in_and_no_others(client):
    answer = client.get("/field/")
    _before, style = answer.content.decode().split("<style>")
    digest = hashlib.sha256(style.split("</style>")[0].encode()).digest()

    policy = dict(each.strip().split(" ", 1) for each in answer[CSP].split(";"))

    assert policy["style-src"] == f"'self' 'sha256-{b64encode(digest).decode()}'"


def test_the_page_is_the_same_for_everybody(client, owner):
    before = client.get("/field/").content
    client.force_login(owner)

    assert client.get("/field/", headers={"Accept-Language": "es"}).content == before


def test_the_worker_names_each_file_with_its_digest():
    told = shell.worker()

    for address, digest in shell.digests().items():
        assert f'"{address}": "{digest}"' in told


def test_the_worker_is_another_when_a_file_is(monkeypatch):
    before = shell._worker()
    monkeypatch.setattr(shell, "page", lambda: "another page")

    assert shell._worker().splitlines()[0] != before.splitlines()[0]

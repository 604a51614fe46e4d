"""The phone's page as files: what its service worker keeps, each with the digest of its content.

The files keep their plain names, for scripts name each other by them; the worker's own text changes
with any of them, and so a phone sees that there is a newer page.  The styles stand in the page:
each file that it waits for costs a slow phone some milliseconds.
"""

import hashlib
import json
import re
from base64 import b64encode
from functools import lru_cache
from pathlib import Path

from django.conf import settings
from django.contrib.staticfiles import finders
from django.template.loader import render_to_string
from django.utils.safestring import mark_safe

PAGE = "/field/"
FOLDER = "field"
WORKER = "field/worker.js"
START = "field/start.js"
IMPORTED = re.compile(r'^import .* from "\./([\w.]+)";$', re.MULTILINE)
STYLES = ("style/tokens.css", "style/type.css", "style/buttons.css", "field/field.css")
FONTS = (
    "fonts/source-serif-4-regular.woff2",
    "fonts/source-sans-3-regular.woff2",
    "fonts/source-sans-3-semibold.woff2",
)
KEPT = {".js", ".webmanifest", ".png"}


def file_of(name: str) -> Path:
    """Return where a static file lies; a missing one stops what asks for it."""
    found = finders.find(name)
    if found is None:
        raise FileNotFoundError(name)
    return Path(found)


def names() -> list[str]:
    """Return the names of all static files of the page, without the worker itself."""
    folder = file_of(WORKER).parent
    own = [f"{FOLDER}/{each.name}" for each in folder.iterdir() if each.suffix in KEPT]
    return sorted({*own, *FONTS} - {WORKER})


def page() -> str:
    """Return the page itself, the same for everybody."""
    shown = {
        "prefix": settings.STATIC_URL,
        "style": mark_safe(style()),
        "scripts": sorted(first_scripts()),
    }
    return render_to_string("services/field/field.html", shown)


def style() -> str:
    """Return all styles of the page, their addresses as seen from the page."""
    text = "".join(file_of(name).read_text(encoding="utf-8") for name in STYLES)
    return text.replace('url("../', f'url("{settings.STATIC_URL}')


def style_source() -> str:
    """Return the styles as a content security policy allows them: by their hash."""
    digest = hashlib.sha256(style().encode()).digest()
    return f"'sha256-{b64encode(digest).decode()}'"


def first_scripts(name: str = START, known: frozenset[str] = frozenset()) -> frozenset[str]:
    """Return a script and all that it cannot begin without, whatever they import in turn."""
    known |= {name}
    for imported in IMPORTED.findall(file_of(name).read_text(encoding="utf-8")):
        if (script := f"{FOLDER}/{imported}") not in known:
            known = first_scripts(script, known)
    return known


def worker() -> str:
    """Return the text of the service worker, with the files that it keeps."""
    return _worker() if settings.DEBUG else _worker_once()


@lru_cache(maxsize=1)
def _worker_once() -> str:
    return _worker()


def _worker() -> str:
    text = file_of(WORKER).read_text(encoding="utf-8")
    files = json.dumps(digests(), indent=1)
    version = _digest((files + text).encode())[:16]
    told = {"VERSION": f'"{version}"', "STATIC": f'"{settings.STATIC_URL}"', "FILES": files}
    constants = "".join(f"const {name} = {value};\n" for name, value in told.items())
    return f"{constants}\n{text}"


def digests() -> dict[str, str]:
    """Return the SHA-256 of the content of each file, by its address."""
    files = {settings.STATIC_URL + name: _digest(file_of(name).read_bytes()) for name in names()}
    return {PAGE: _digest(page().encode()), **files}


def _digest(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()

"""Texts that would do harm if anything took them for more than text, and what harm looks like.

The kinds are those of OWASP ASVS 5.0.0, chapter 1, from memory; the texts are our own.
"""

from html.parser import HTMLParser
from io import BytesIO
from xml.etree import ElementTree

from pypdf import PdfReader

TEXTS = {
    "markup": "<script>hostile()</script><b id=hostile>&amp; &",
    "picture": '<img src=/etc/passwd onerror="hostile()">',
    "end of a quote": "\"><i id='hostile' onload=hostile()>'\"",
    "link": "<a href=javascript:hostile()>x</a> javascript:hostile()",
    "paper": '<font size=99 id=hostile><onDraw name="hostile"/></para><br/>',
    "template": "{{ 7|add:42 }}{% now 'Y' %}${7*7}#{7*7}",
    "places": "%s %d %(name)s %(x)s %% {0} {name}",
    "formula": '=HYPERLINK("http://hostile.example") @SUM(1) +1 -1',
    "emoji": "Rose \U0001f339 \U0001f469‍\U0001f33e",
    "right to left": "عشب עשב ltr",
    "turned round": "safe‮txt.exe⁦x⁩​",
    "quotes": 'O\'Hara "Rose" “Bed” ‘B’ `x` \\ / ; --',
    "newline for a header": "Rose\r\nBcc: hostile@example.org",
    "long word": "x" * 200,
}
# What no text column takes: databases and PDF differ on it, so it is refused at the door.
REFUSED = {"NUL": "Ro\x00se", "lone surrogate": "Ro\ud800se"}
# What the root of a PDF names when something opens, runs or lies within.
ACTING = ("/OpenAction", "/AA", "/Names", "/AcroForm")


class Harm(HTMLParser):
    """Reads a page and keeps whatever a hostile text has brought to act."""

    def __init__(self):
        super().__init__()
        self.found = []

    def handle_starttag(self, tag, attributes):
        told = dict(attributes)
        if tag == "script" and "src" not in told:
            self.found.append(self.get_starttag_text())
        for name, value in attributes:
            if name.startswith("on") or does_harm(name, value or ""):
                self.found.append(self.get_starttag_text())


def does_harm(name, value):
    """Say whether an attribute is one of those that the texts would set."""
    if name in ("href", "src", "action", "formaction"):
        return value.strip().lower().startswith(("javascript:", "/etc/passwd"))
    return name == "id" and value == "hostile"


def harm_in_page(text):
    """Return the tags of a page that a hostile text has brought."""
    reader = Harm()
    reader.feed(text)
    return reader.found


def harm_in_drawing(text):
    """Return the elements of a drawing that act; a drawing that is no XML raises."""
    acting = ("script", "image", "foreignObject", "a")
    drawing = ElementTree.fromstring(text)  # noqa: S314 - our own drawing, of 100 kB at most
    return [node.tag for node in drawing.iter() if ends_as(node.tag, acting)]


def ends_as(tag, names):
    """Say whether an element with a namespace has one of these names."""
    return isinstance(tag, str) and tag.rpartition("}")[2] in names


def harm_in_paper(content):
    """Return what acts in a PDF: pictures, links and fields, scripts, files within."""
    reader = PdfReader(BytesIO(content))
    found = [str(image) for page in reader.pages for image in page.images]
    found += [note for page in reader.pages for note in page.get("/Annots", [])]
    return found + [name for name in ACTING if name in reader.trailer["/Root"]]


def harm_in(answer):
    """Return the harm in whatever an address answers."""
    kind = answer["Content-Type"].partition(";")[0]
    if kind == "application/pdf":
        return harm_in_paper(b"".join(answer) if answer.streaming else answer.content)
    if kind == "image/svg+xml":
        return harm_in_drawing(answer.content.decode())
    return harm_in_page(answer.content.decode()) if kind == "text/html" else []

"""A file of which the small things are packed together: what is said of its structure, above all.

The PDF library writes each thing by itself, with a line of its own in a table of places.  Here what
is no stream goes by the hundred into object streams, packed, and the places into a packed one
[ISO32000] 7.5.7 and 7.5.8.  The things keep their numbers, and the same paper gives the same bytes.
"""

import re
import zlib
from collections.abc import Iterator, Sequence
from struct import Struct

from reportlab.pdfbase.pdfdoc import PDFDocument

AT_A_TIME = 200
FREE, PLAIN, PACKED = 0, 1, 2
ROW = Struct(">BIH")  # of which kind a thing is, and where it stands
ONE = re.compile(rb"(?:%[^\n]*\n)*(\d+) 0 obj\s*(.*?)\s*endobj\s*\Z", re.DOTALL)
TRAILER = re.compile(rb"trailer\s*<<(.*)>>\s*startxref", re.DOTALL)
SIZE = re.compile(rb"/Size \d+\s*")


def packed(document: PDFDocument, plain: bytes) -> bytes:
    """Return a file that the library wrote, packed; one that is sealed stays as it is.

    document: the one that wrote it, which knows where each thing stands
    """
    told = TRAILER.search(plain)
    if told is None or b"/Encrypt" in told.group(1):
        return plain
    things = list(_things(document, plain))
    small = [(number, content) for number, content in things if not _is_stream(content)]
    file = _File(b"%PDF-1.5\n" + plain[plain.index(b"\n") + 1 : _first(document)])
    for number, content in things:
        if _is_stream(content):
            file.add(number, content)
    number = len(things)
    for start in range(0, len(small), AT_A_TIME):
        number += 1
        file.add_packed(number, small[start : start + AT_A_TIME])
    return file.ended(number + 1, SIZE.sub(b"", told.group(1)).strip())


def _first(document: PDFDocument) -> int:
    return min(document.idToOffset.values())


def _things(document: PDFDocument, plain: bytes) -> Iterator[tuple[int, bytes]]:
    """Yield the number and the content of each thing in a file, in the order of their places."""
    places = sorted(document.idToOffset.values())
    ends = [*places[1:], plain.rindex(b"xref\n0 ")]
    for place, end in zip(places, ends, strict=True):
        found = ONE.match(plain[place:end])
        if found is None:
            raise ValueError(f"No thing begins at {place}.")
        yield int(found.group(1)), found.group(2)


def _is_stream(content: bytes) -> bool:
    return content.endswith(b"endstream")


class _File:
    """A file while it is written, and where each thing stands in it."""

    def __init__(self, head: bytes) -> None:
        self.bytes = bytearray(head)
        self.places: dict[int, tuple[int, int, int]] = {0: (FREE, 0, 65535)}

    def add(self, number: int, content: bytes) -> None:
        """Write a thing by itself."""
        self.places[number] = (PLAIN, len(self.bytes), 0)
        self.bytes += b"%d 0 obj\n%b\nendobj\n" % (number, content)

    def add_packed(self, number: int, things: Sequence[tuple[int, bytes]]) -> None:
        """Write things together as one packed stream of a number of its own."""
        heads, contents = bytearray(), bytearray()
        for place, (own, content) in enumerate(things):
            self.places[own] = (PACKED, number, place)
            heads += b"%d %d " % (own, len(contents))
            contents += content + b"\n"
        told = b"/Type /ObjStm /N %d /First %d" % (len(things), len(heads))
        self.add(number, _stream(told, bytes(heads + contents)))

    def ended(self, number: int, trailer: bytes) -> bytes:
        """Return the whole file, with the places of all things as its last stream."""
        start = len(self.bytes)
        self.places[number] = (PLAIN, start, 0)
        rows = b"".join(ROW.pack(*where) for _number, where in sorted(self.places.items()))
        told = b"/Type /XRef /Size %d /W [1 4 2] %b" % (number + 1, trailer)
        self.add(number, _stream(told, rows))
        return bytes(self.bytes) + b"startxref\n%d\n%%%%EOF\n" % start


def _stream(told: bytes, content: bytes) -> bytes:
    small = zlib.compress(content, 9)
    head = b"<< %b /Filter /FlateDecode /Length %d >>" % (told, len(small))
    return head + b"\nstream\n" + small + b"\nendstream"

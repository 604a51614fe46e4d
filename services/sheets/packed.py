"""A file of which the small things are packed together: what is said of its structure, above all.

The PDF library writes each thing by itself, with a line of its own in a table of places.  Here what
is no stream goes by the hundred into object streams, packed, and the places into a packed one
[ISO32000] 7.5.7 and 7.5.8.  The things keep their numbers, and the same paper gives the same bytes.
"""

import zlib
from collections.abc import Iterator, Sequence
from itertools import count
from struct import Struct

from reportlab.pdfbase.pdfdoc import NoEncryption, PDFDocument

AT_A_TIME = 200
FREE, PLAIN, PACKED = 0, 1, 2
ROW = Struct(">BIH")  # of which kind a thing is, and where it stands
HEAD = b"%PDF-1.5\n%\x93\x8c\x8b\x9e\n"  # signs beyond ASCII tell that it is no text


class PackedDocument(PDFDocument):
    """A document that packs its many small things together; one that is sealed stays as it is."""

    def format(self) -> bytes:
        """Return the file."""
        if not isinstance(self.encrypt, NoEncryption):
            return super().format()
        file, small = _File(), []
        ends = {b"Info": self.Reference(self.info), b"Root": self.Reference(self.Catalog)}
        for number, content in self._things():
            if content.endswith(b"endstream"):
                file.add(number, content)
            else:
                small.append((number, content))
        free = count(self.objectcounter + 1)
        for start in range(0, len(small), AT_A_TIME):
            file.add_packed(next(free), small[start : start + AT_A_TIME])
        told = b" ".join(b"/%b %b" % (name, thing.format(self)) for name, thing in ends.items())
        return file.ended(next(free), b"/ID%b%b" % (self.ID(), told))

    def _things(self) -> Iterator[tuple[int, bytes]]:
        """Yield the number and content of each thing; to write one can bring forth another."""
        number = 0
        while (number := number + 1) <= self.objectcounter:
            thing = self.idToObject[self.numberToId[number]]
            yield number, thing.format(self).strip()


class _File:
    """A file while it is written, and where each thing stands in it."""

    def __init__(self) -> None:
        self.bytes = bytearray(HEAD)
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

"""Papers are packed, and say the same as before [ISO32000] 7.5.7 and 7.5.8.

Read back by pypdf, which was written by others.
"""

import io
import re
from dataclasses import replace

import pypdf
import pytest
from reportlab.lib import pdfencrypt
from reportlab.pdfbase.pdfdoc import PDFDocument

from services.sheets.application_record import draw_application_records
from services.sheets.packed import PackedDocument
from services.sheets.structure import TaggedCanvas


@pytest.fixture
def many(records):
    """Ten times the records, as an inspector asks for them."""
    return replace(records, records=records.records * 10, with_index=True)


@pytest.fixture
def both(many, monkeypatch):
    """The same paper packed, and as the PDF library writes it."""
    packed = draw_application_records(many)
    monkeypatch.setattr(PackedDocument, "format", PDFDocument.format)
    return packed, draw_application_records(many)


def said(thing):
    """Return a thing in words, with the numbers of those that it names."""
    return re.sub(r"IndirectObject\((\d+), 0, \d+\)", r"\1 R", repr(thing))


def read(paper):
    return pypdf.PdfReader(io.BytesIO(paper), strict=True)


def test_every_thing_is_the_same_as_it_was_unpacked(both):
    packed, plain = map(read, both)
    size = plain.trailer["/Size"]

    assert size > 200
    for number in range(1, size):
        assert said(packed.get_object(number)) == said(plain.get_object(number))
    for name in ("/Root", "/Info", "/ID"):
        assert said(packed.trailer.raw_get(name)) == said(plain.trailer.raw_get(name))


def test_the_same_is_drawn_on_each_page(both):
    packed, plain = map(read, both)

    assert len(packed.pages) == len(plain.pages)
    for one, other in zip(packed.pages, plain.pages, strict=True):
        assert one.get_contents().get_data() == other.get_contents().get_data()


def test_packed_takes_much_less(both):
    packed, plain = both

    assert len(packed) < 0.6 * len(plain)


def test_the_same_records_give_the_same_bytes(many):
    assert draw_application_records(many) == draw_application_records(many)


def test_what_is_sealed_stays_as_the_library_wrote_it():
    file = io.BytesIO()
    seal = pdfencrypt.StandardEncryption("an invented word", strength=128)
    canvas = TaggedCanvas(file, invariant=1, encrypt=seal)
    with canvas.tagged("P"):
        canvas.drawString(72, 72, "Evening Gardens")
    canvas.save()

    reader = read(file.getvalue())
    assert b"/ObjStm" not in file.getvalue()
    assert reader.decrypt("an invented word")
    assert "Evening Gardens" in reader.pages[0].extract_text()

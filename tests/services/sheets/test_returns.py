"""A return as paper: what stands in its tables can be read."""

from io import BytesIO

from pypdf import PdfReader

from services.sheets.returns import ReturnSheet, draw_return

WORDS = ["registration", "Pennyroyal", "Reedmark", "Wharfinger"]


def test_no_word_of_a_table_of_many_columns_is_broken(imprint):
    heads = ("Record", "County", "date", "time", "customer's name", "address", "planting")
    heads += ("area or plants", "product name", "EPA registration number", "total product")
    row = ("177", "Bucks", "2026-10-25", "2026-10-25 09:50", "Silas Pennyroyal")
    row += ("3 Wharfinger Street, Richboro, CA 18954", "Rose bed: hybrid rose (Rosa hybrids)")
    row += ("387 sq ft", "Reedmark", "0-103", "0.8 fl oz")
    sheet = ReturnSheet(imprint, "Return", "Lead.", "Caution.", ("Total",), (), heads, (row,))

    text = PdfReader(BytesIO(draw_return(sheet))).pages[0].extract_text()

    assert [word for word in WORDS if word not in text] == []

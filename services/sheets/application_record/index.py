"""The index before a batch of records: a line each, which leads to its pages."""

from reportlab.platypus import Flowable, Spacer

from services.sheets.application_record.facts import ApplicationRecord, ApplicationRecords
from services.sheets.layout import DATA, HAIRLINE, SMALL, SMALL_INK, TITLE, Led, ruled, said
from services.sheets.pages import Section
from services.sheets.words import words_in

WIDTHS = (0.08, 0.13, 0.27, 0.27, 0.25)
FIRST_PART = 2  # the index is the first
TOLD = ("application_date", "site_address", "product_name", "epa_reg_no", "applicator_name")


def index_pages(records: ApplicationRecords) -> list[Flowable]:
    """Return the index; each number leads to the pages of its record."""
    _ = words_in(records.imprint.language)
    heads = (_("No."), _("Date"), _("Place"), _("Product"), _("Who"))
    rows: list[list[object]] = [[said(head, SMALL) for head in heads]]
    rows += [_row(part, each) for part, each in enumerate(records.records, FIRST_PART)]
    width = records.imprint.measure()
    table = ruled(
        rows,
        [width * part for part in WIDTHS],
        [("LINEBELOW", (0, 0), (-1, -1), 0.4, HAIRLINE)],
        padding=(3, 1.5),
        shape=DATA,
    )
    return [Section(_("Index")), said(_("Index"), TITLE), Spacer(1, 6), table]


def _row(part: int, record: ApplicationRecord) -> list[object]:
    day, place, product, number, who = (record.values.get(name, "") for name in TOLD)
    named = f"{product} ({number})" if number else product
    link = Led(str(record.number), f"part-{part}", SMALL_INK)
    return [link, *(said(each, SMALL_INK) for each in (day, place, named, who))]

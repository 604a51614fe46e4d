"""The pages of one application record."""

from collections.abc import Callable
from datetime import datetime

from reportlab.platypus import Flowable, KeepTogether, Paragraph, Spacer, Table

from services.sheets.application_record.facts import (
    Amendment,
    ApplicationRecord,
    LogHead,
    Void,
)
from services.sheets.application_record.fields import (
    CITATIONS,
    CONDITIONS,
    FIELDS,
    PROOF,
    WHAT,
    WHEN_AND_WHERE,
    WHO,
    Field,
    check_keys,
)
from services.sheets.cautions import label_caution, licence_caution, unverified_caution
from services.sheets.dates import exact_moment
from services.sheets.layout import (
    CAPTION,
    DATA,
    EMBER,
    ENTRY,
    ENTRY_STRONG,
    HAIRLINE,
    INK,
    LEAD,
    SIDE_HEADING,
    SMALL_INK,
    SMALL_STRONG,
    SMALLEST,
    WARNED_SMALL,
    Imprint,
    boxed,
    coded,
    columns,
    ruled,
    said,
    with_note,
)
from services.sheets.pages import Section
from services.sheets.words import counts_in, words_in

ACROSS = 4
LEAST_TYPE = 6.5  # points; nothing on a record is set smaller, our own choice


def _group_names(_: Callable[[str], str]) -> dict[str, str]:
    return {
        WHEN_AND_WHERE: _("When and where"),
        WHO: _("Who"),
        WHAT: _("What"),
        CONDITIONS: _("Conditions"),
        PROOF: _("Proof"),
    }


def _cell(field: Field, record: ApplicationRecord, _: Callable[[str], str]) -> list[Paragraph]:
    """Return the label with who asks, and the value; nothing is left blank."""
    value = record.values.get(field.key, "").strip()
    asked_by = _(field.asked_by) or _("common practice")
    label = with_note(_(field.label), asked_by, CAPTION, LEAST_TYPE)
    if not value:
        return [label, said(_("not applicable"), ENTRY)]
    return [label, said(value, ENTRY_STRONG)]


def _group(
    group: str, record: ApplicationRecord, width: float, _: Callable[[str], str]
) -> list[Flowable]:
    cells: list[object] = [_cell(field, record, _) for field in FIELDS if field.group == group]
    last = (len(cells) - 1) % ACROSS
    cells += [""] * (-len(cells) % ACROSS)
    rows = [cells[place : place + ACROSS] for place in range(0, len(cells), ACROSS)]
    lines = [
        ("LINEABOVE", (0, 0), (-1, 0), 0.8, INK),
        ("LINEBELOW", (0, 0), (-1, -1), 0.4, HAIRLINE),
        ("SPAN", (last, -1), (-1, -1)),
        ("RIGHTPADDING", (0, 0), (-1, -1), 7),
    ]
    table = ruled(rows, [width / ACROSS] * ACROSS, lines, padding=(2, 0.8))
    return [KeepTogether([said(_group_names(_)[group], SIDE_HEADING), table]), Spacer(1, 2)]


def _times(record: ApplicationRecord, imprint: Imprint, _: Callable[[str], str]) -> Table:
    """Return the three times side by side, none of them rewritten."""

    def told(moment: datetime | None) -> str:
        if moment is None:
            return _("not applicable")
        return exact_moment(imprint.local(moment), imprint.language)

    times = record.times
    named = [
        (_("Done, as stated"), told(times.done_at)),
        (_("Captured on the device"), told(times.captured_at)),
        (_("Received by the office"), told(times.received_at)),
    ]
    cells = [[said(name, CAPTION), said(value, ENTRY_STRONG)] for name, value in named]
    lines = [("BOX", (0, 0), (-1, -1), 0.8, INK), ("INNERGRID", (0, 0), (-1, -1), 0.4, HAIRLINE)]
    return ruled([cells], [imprint.measure() / 3] * 3, lines, padding=(4, 1.2))


def _void(void: Void, imprint: Imprint, _: Callable[[str], str]) -> Table:
    sentence = (
        _("VOID since %(moment)s, by %(author)s, approved by %(approved)s: %(reason)s")
        if void.approved_by
        else _("VOID since %(moment)s, by %(author)s: %(reason)s")
    ) % {
        "moment": exact_moment(imprint.local(void.made_at), imprint.language),
        "author": void.author,
        "reason": void.reason,
        "approved": void.approved_by,
    }
    return boxed([said(sentence, WARNED_SMALL)], imprint.measure(), 1.2, EMBER)


def _head(
    record: ApplicationRecord, imprint: Imprint, log_head: LogHead | None, _: Callable[[str], str]
) -> list[Flowable]:
    ngettext = counts_in(imprint.language)
    title = _("Application record %(number)s") % {"number": record.number}
    left: list[Flowable] = [said(title, LEAD, role="H1")]
    count = len(record.amendments)
    if count:
        amended = ngettext("amended once", "amended %(count)s times", count) % {"count": count}
        left.append(said(amended, WARNED_SMALL))
    if log_head:
        left.append(said(_log_line(log_head, _), CAPTION))
    code = coded(log_head.checkpoint, 48) if log_head else []
    width = imprint.measure()
    return [
        Section(title, _("VOID") if record.void else ""),
        columns([left, code], [width - 54, 54]),
        *([_void(record.void, imprint, _), Spacer(1, 4)] if record.void else []),
        *(said(flag, WARNED_SMALL) for flag in record.flags),
        _times(record, imprint, _),
        Spacer(1, 3),
    ]


def _log_line(log_head: LogHead, _: Callable[[str], str]) -> str:
    return _("Log of records when printed: %(size)s entries, root %(root)s …") % {
        "size": log_head.size,
        "root": log_head.root[:16],
    }


def _label_of(key: str, _: Callable[[str], str]) -> str:
    return next((_(field.label) for field in FIELDS if field.key == key), key)


def _amendment(amendment: Amendment, imprint: Imprint, _: Callable[[str], str]) -> list[Flowable]:
    """Return what an amendment changed, before and after, with its reason."""
    heads = [said(head, CAPTION) for head in (_("Field"), _("Before"), _("After"))]
    rows: list[list[object]] = [heads]
    for change in amendment.changes:
        values = (said(change.before or "–", SMALL_INK), said(change.after or "–", SMALL_STRONG))
        rows.append([said(_label_of(change.field, _), SMALL_INK), *values])
    facts = {
        "number": amendment.number,
        "moment": exact_moment(imprint.local(amendment.made_at), imprint.language),
        "author": amendment.author,
        "approved": amendment.approved_by,
    }
    by = (
        _("Amendment %(number)s, %(moment)s, by %(author)s, approved by %(approved)s.")
        if amendment.approved_by
        else _("Amendment %(number)s, %(moment)s, by %(author)s.")
    ) % facts
    width = imprint.measure()
    table = ruled(
        rows,
        [width * part for part in (0.28, 0.36, 0.36)],
        [("LINEBELOW", (0, 0), (-1, -1), 0.4, HAIRLINE)],
        padding=(3, 1.2),
        shape=DATA,
    )
    reason = _("Reason: %(reason)s") % {"reason": amendment.reason}
    return [said(by, SMALL_STRONG), said(reason, SMALL_INK), table, Spacer(1, 5)]


def _amendments(
    record: ApplicationRecord, imprint: Imprint, _: Callable[[str], str]
) -> list[Flowable]:
    if not record.amendments:
        return []
    heading = said(_("Amendments; the record above shows what holds now"), SIDE_HEADING)
    first, *rest = [_amendment(each, imprint, _) for each in record.amendments]
    return [KeepTogether([heading, *first]), *map(KeepTogether, rest)]


def _first_aid(record: ApplicationRecord, _: Callable[[str], str]) -> list[Flowable]:
    """Return what the label printed for whoever must help, as the record copied it."""
    if not record.first_aid:
        return []
    word = _("signal word %(word)s") % {"word": record.signal_word} if record.signal_word else ""
    label = with_note(_("First aid, as the label printed it"), word, CAPTION, LEAST_TYPE)
    return [label, said(record.first_aid, ENTRY), Spacer(1, 2)]


def _rules(record: ApplicationRecord, language: str, _: Callable[[str], str]) -> list[Flowable]:
    """Return who asks for the fields, what is not verified, and who decides."""
    story: list[Flowable] = []
    for rule_set in record.rule_sets:
        story.append(said(f"{rule_set.name}: {rule_set.citation}", ENTRY))
        if not rule_set.verified:
            story.append(said(unverified_caution(rule_set.name, language), WARNED_SMALL))
    codes = "; ".join(f"{code}: {_(citation)}" for code, citation in CITATIONS.items())
    key = _("Who asks, behind each label (* under a condition): %(codes)s.") % {"codes": codes}
    cautions = f"{label_caution(language)} {licence_caution(language)}"
    return [*story, said(key, SMALLEST), said(cautions, ENTRY)]


def record_pages(
    record: ApplicationRecord, imprint: Imprint, log_head: LogHead | None
) -> list[Flowable]:
    """Return the pages of one record."""
    check_keys(record.values)
    _ = words_in(imprint.language)
    story = _head(record, imprint, log_head, _)
    for group in _group_names(_):
        story += _group(group, record, imprint.measure(), _)
    story += _first_aid(record, _)
    return [*story, *_rules(record, imprint.language, _), *_amendments(record, imprint, _)]

"""The client's letter: when it is safe, what was done and why, what comes."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from reportlab.platypus import Flowable, PageBreak, Spacer, Table

from services.sheets.application_record.facts import LogHead
from services.sheets.cautions import client_caution, unverified_caution
from services.sheets.charts import Season, height_for, season_figure
from services.sheets.dates import clock, long_day
from services.sheets.layout import (
    BODY,
    HEADING,
    LEAD,
    PLAIN,
    PLUM,
    SMALL,
    SMALL_INK,
    TITLE,
    WARNED,
    Drawn,
    Imprint,
    boxed,
    coded,
    columns,
    listed,
    said,
)
from services.sheets.pages import Section, bind
from services.sheets.text import NAME
from services.sheets.words import words_in

FIELD, TALLEST = 90.0, 195.0  # of the drawing, in points: with more the letter takes a second page
CODE = 54  # points; large enough for a telephone, signature included


@dataclass(frozen=True, slots=True)
class DoneLine:
    """What was applied to a planting, and what it is for in plain words."""

    planting: str
    product: str
    registration_number: str
    active_ingredient: str
    purpose: str


@dataclass(frozen=True, slots=True)
class ClientSummary:
    """What a client is told of a visit; all texts in the client's language.

    keep_off_until: when people and pets may be back, or None when that is not known
    keep_off_words: what the label says of it besides, such as until dry; alone it is all that
        is said
    """

    imprint: Imprint
    client: str
    address: str
    done_at: datetime
    keep_off_until: datetime | None
    done: tuple[DoneLine, ...]
    why: str
    keep_off_words: str = ""
    sign_comes_down_at: datetime | None = None
    expect: tuple[str, ...] = ()
    please: tuple[str, ...] = ()
    next_visit_on: date | None = None
    next_visit_words: str = ""
    season: Season | None = None
    unverified_place: str = ""
    log_head: LogHead | None = None


def _letterhead(summary: ClientSummary, width: float) -> Table:
    imprint = summary.imprint
    _ = words_in(imprint.language)
    licence = _("Applied under %(licence)s") % {"licence": imprint.licence}
    lines = [part for part in (licence, imprint.address, imprint.phone) if part]
    right = [said(line, SMALL) for line in lines]
    return columns([[said(imprint.business, HEADING, NAME)], right], [width * 0.62, width * 0.38])


def _keep_off(summary: ClientSummary, width: float, _: Callable[[str], str]) -> Table:
    """Return the box that is read first; an unknown time is never shown as safe."""
    imprint = summary.imprint
    if summary.keep_off_until is None and summary.keep_off_words:
        words: list[Flowable] = [said(summary.keep_off_words, LEAD)]
        return boxed([*words, *_sign(summary, _)], width, 1.4, PLUM)
    if summary.keep_off_until is None:
        unknown = _("Keep people and pets off the treated plants until we tell you.")
        call = _("We do not know yet when it is safe. Call us: %(phone)s") % {
            "phone": imprint.phone or imprint.business
        }
        return boxed([said(unknown, LEAD), said(call, PLAIN)], width, 1.4)
    until = imprint.local(summary.keep_off_until)
    moment = f"{long_day(until, imprint.language)}, {clock(until, imprint.language)}"
    contents: list[Flowable] = [
        said(_("Keep people and pets off the treated plants until"), PLAIN),
        said(moment, TITLE, role="P"),
    ]
    if summary.keep_off_words:
        contents.append(said(summary.keep_off_words, PLAIN))
    return boxed([*contents, *_sign(summary, _)], width, 1.4, PLUM)


def _sign(summary: ClientSummary, _: Callable[[str], str]) -> list[Flowable]:
    if summary.sign_comes_down_at is None:
        return []
    down = summary.imprint.local(summary.sign_comes_down_at)
    sentence = _("Please leave the sign standing until %(day)s, %(time)s.") % {
        "day": long_day(down, summary.imprint.language),
        "time": clock(down, summary.imprint.language),
    }
    return [said(sentence, PLAIN)]


def _done(summary: ClientSummary, width: float, _: Callable[[str], str]) -> list[Flowable]:
    imprint = summary.imprint
    done = imprint.local(summary.done_at)
    sentence = _("On %(day)s we treated at %(address)s:") % {
        "day": long_day(done, imprint.language),
        "address": summary.address,
    }
    items = [_done_line(line, _) for line in summary.done]
    return [said(sentence, BODY), listed(items, BODY, width), said(summary.why, BODY)]


def _done_line(line: DoneLine, _: Callable[[str], str]) -> str:
    facts = {
        "planting": line.planting,
        "product": line.product,
        "active": line.active_ingredient,
        "number": line.registration_number,
        "purpose": line.purpose,
    }
    if line.registration_number:
        template = _("%(planting)s: %(product)s (%(active)s, EPA number %(number)s). %(purpose)s")
    elif line.active_ingredient:
        template = _("%(planting)s: %(product)s (%(active)s). %(purpose)s")
    else:
        template = _("%(planting)s: %(product)s. %(purpose)s")
    return template % facts


def _coming(summary: ClientSummary, width: float, _: Callable[[str], str]) -> list[Flowable]:
    story: list[Flowable] = []
    for head, items in (
        (_("What to expect"), summary.expect),
        (_("What you can do"), summary.please),
    ):
        if items:
            story += [said(head, HEADING), listed(items, BODY, width), Spacer(1, 4)]
    story.append(said(_("What comes next"), HEADING))
    return [*story, said(_next_visit(summary, _), BODY)]


def _next_visit(summary: ClientSummary, _: Callable[[str], str]) -> str:
    if summary.next_visit_on is None:
        return summary.next_visit_words or _("No further visit is planned.")
    day = long_day(summary.next_visit_on, summary.imprint.language)
    planned = _("The next visit is planned for %(day)s, if the weather allows.") % {"day": day}
    return f"{planned} {summary.next_visit_words}".strip()


def _chart(summary: ClientSummary, width: float, _: Callable[[str], str]) -> list[Flowable]:
    if summary.season is None:
        return []
    height = min(height_for(summary.season, FIELD), TALLEST)
    figure = season_figure(summary.season, summary.imprint.language, width, height)
    caption = _(
        "%(title)s. Squares: treatments, filled when done, with the group by which the product "
        "works. Gray: what was expected."
    ) % {"title": figure.title}
    return [Drawn(figure), said(caption, SMALL), Spacer(1, 6)]


def _close(summary: ClientSummary, _: Callable[[str], str]) -> list[Flowable]:
    language = summary.imprint.language
    ill = _(
        "If somebody feels unwell, call the poison center, day and night: 1-800-222-1222; "
        "in an emergency 911."
    )
    story: list[Flowable] = [said(ill, PLAIN), Spacer(1, 4)]
    if summary.unverified_place:
        story.append(said(unverified_caution(summary.unverified_place, language), WARNED))
    story.append(said(client_caution(language), SMALL_INK))
    if summary.log_head is None:
        return story
    return [_beside_head(story, summary.log_head, summary.imprint.measure(), _)]


def _beside_head(
    story: list[Flowable], head: LogHead, width: float, _: Callable[[str], str]
) -> Table:
    """Return the close of the letter with the head of the journal, its checkpoint as a code."""
    line = _("Log of records when printed: %(size)s entries, root %(root)s …") % {
        "size": head.size,
        "root": head.root[:16],
    }
    left = [*story, said(line, SMALL)]
    return columns([left, coded(head.checkpoint, CODE)], [width - CODE - 6, CODE + 6])


def draw_client_summary(summary: ClientSummary) -> bytes:
    """Return the letter as a PDF; the same summary always gives the same bytes."""
    return bind(_letter(summary), summary.imprint, _title(summary))


def draw_client_summaries(summaries: Sequence[ClientSummary], imprint: Imprint) -> bytes:
    """Return letters one after the other as a PDF, each in its own language."""
    story: list[Flowable] = []
    for summary in summaries:
        story += [PageBreak()] if story else []
        story += _letter(summary)
    return bind(story, imprint, words_in(imprint.language)("Letters to clients"))


def _title(summary: ClientSummary) -> str:
    _ = words_in(summary.imprint.language)
    return _("What we did at %(address)s") % {"address": summary.address}


def _letter(summary: ClientSummary) -> list[Flowable]:
    width = summary.imprint.measure()
    _ = words_in(summary.imprint.language)
    return [
        Section(_title(summary), imprint=summary.imprint),
        _letterhead(summary, width),
        Spacer(1, 10),
        _keep_off(summary, width, _),
        Spacer(1, 14),
        said(_("Dear %(client)s,") % {"client": summary.client}, BODY),
        Spacer(1, 5),
        *_done(summary, width, _),
        Spacer(1, 8),
        *_chart(summary, width, _),
        *_coming(summary, width, _),
        Spacer(1, 12),
        *_close(summary, _),
    ]

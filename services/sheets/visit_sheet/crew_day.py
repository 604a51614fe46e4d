"""The page of the crew's day: the diagram, the load, the signs, whom to call."""

from collections.abc import Callable

from reportlab.platypus import Flowable, KeepTogether, Spacer, Table

from services.sheets.cautions import label_caution, licence_caution
from services.sheets.charts import day_figure
from services.sheets.dates import day_of_year, long_day
from services.sheets.layout import (
    BODY,
    DATA,
    EMBER,
    HAIRLINE,
    HEADING,
    INK,
    LABEL,
    NAMED,
    NUMBER,
    PLAIN,
    SMALL_INK,
    STRONG,
    TITLE,
    Drawn,
    boxed,
    columns,
    listed,
    ruled,
    said,
)
from services.sheets.pages import Section
from services.sheets.text import NAME
from services.sheets.visit_sheet.facts import CrewDay, VisitSheets
from services.sheets.words import words_in


def _head(day: CrewDay, language: str, _: Callable[[str], str]) -> list[Flowable]:
    people = "; ".join(
        f"{person.name} ({person.certificate})" if person.certificate else person.name
        for person in day.people
    )
    facts = _("%(people)s. Truck: %(truck)s. Sprayer: %(sprayer)s. Water: %(water)s.") % {
        "people": people,
        "truck": day.truck,
        "sprayer": day.sprayer,
        "water": day.water or "–",
    }
    return [
        Section(_("The day of %(crew)s") % {"crew": day.crew}),
        said(day.crew, TITLE, NAME),
        said(long_day(day.day, language), HEADING),
        said(facts, PLAIN),
    ]


def _load(sheets: VisitSheets, width: float, _: Callable[[str], str]) -> Table:
    language = sheets.imprint.language
    heads = (_("Load"), _("EPA number"), _("Lot, expiry"), _("Amount"))
    rows = [[said(head, LABEL) for head in heads]]
    for line in sheets.day.load:
        expiry = day_of_year(line.expires_on, language) if line.expires_on else "–"
        rows.append(
            [
                said(f"{line.product}\n{line.note}" if line.note else line.product, STRONG),
                said(line.registration_number, PLAIN),
                said(f"{line.lot}, {expiry}", PLAIN),
                said(line.amount, NUMBER),
            ]
        )
    lines = [("LINEBELOW", (0, 0), (-1, -1), 0.5, HAIRLINE), ("LINEABOVE", (0, 0), (-1, 0), 1, INK)]
    return ruled(rows, [width * part for part in (0.36, 0.19, 0.25, 0.2)], lines, shape=DATA)


def _kit(day: CrewDay, width: float, _: Callable[[str], str]) -> Table:
    signs = [
        f"{line.count} × {line.sign}" + (f" ({line.stops})" if line.stops else "")
        for line in day.signs
    ]
    half = width / 2 - 6
    wear = [said(_("To wear"), HEADING), listed(day.protection, PLAIN, half - 8)]
    take = [said(_("Signs to take"), HEADING), listed(signs or [_("none")], PLAIN, half - 8)]
    return columns([wear, take], [half, half])


def _calls(day: CrewDay, _: Callable[[str], str]) -> list[tuple[str, str]]:
    """Return whom to call; the numbers are the national ones [EPA-EMERGENCY], [NPIC-FACTS]."""
    contacts = day.contacts
    supervisor = f"{contacts.supervisor} {contacts.supervisor_phone}".strip()
    return [
        (_("Collapse, trouble breathing, fits"), "911"),
        (_("Poison centers, day and night"), "1-800-222-1222"),
        (_("Supervisor"), supervisor or "–"),
        (_("Nearest hospital"), contacts.hospital or "–"),
        # The number of the National Response Center is given from memory.
        (_("Reportable spill: National Response Center"), "1-800-424-8802"),
        (
            _("Questions, not emergencies: National Pesticide Information Center"),
            _("1-800-858-7378, Mon–Fri 8–12 Pacific"),
        ),
    ]


def _emergency(day: CrewDay, width: float, _: Callable[[str], str]) -> Table:
    calls, advice = (width - 16) * 0.64, (width - 16) * 0.36
    rows = [[said(name, PLAIN), said(number, STRONG)] for name, number in _calls(day, _)]
    table = ruled(rows, [calls * 0.55, calls * 0.45], padding=(0, 1), shape=NAMED)
    ready = _(
        "Have ready: product name, EPA number, active ingredient, the label's first aid. "
        "Take the label along."
    )
    spill = _("Spill: control it, contain it, clean it up; keep people away; call the supervisor.")
    heat = _("Heat: water within reach, rest in the shade in turns, newcomers ease in.")
    beside = columns([[table], [listed([ready, spill, heat], PLAIN, advice)]], [calls, advice])
    return boxed([said(_("Emergency"), HEADING), beside], width, 1.4, EMBER)


def _warnings(sheets: VisitSheets) -> list[Flowable]:
    return [said(note, BODY) for note in sheets.day.notes]


def crew_day_page(sheets: VisitSheets) -> list[Flowable]:
    """Return the first page of a crew's paper."""
    language, width = sheets.imprint.language, sheets.imprint.measure()
    _ = words_in(language)
    rows = len(sheets.day.run.stops) + 2
    run = sheets.day.run.in_zone(sheets.imprint.zone)
    figure = day_figure(run, language, width, 50 + max(18, min(26, 126 / rows)) * rows)
    cautions = f"{label_caution(language)} {licence_caution(language)}"
    return [
        *_head(sheets.day, language, _),
        Spacer(1, 4),
        Drawn(figure),
        Spacer(1, 4),
        *_warnings(sheets),
        Spacer(1, 4),
        _load(sheets, width, _),
        Spacer(1, 4),
        _kit(sheets.day, width, _),
        Spacer(1, 4),
        KeepTogether([_emergency(sheets.day, width, _), Spacer(1, 5), said(cautions, SMALL_INK)]),
    ]

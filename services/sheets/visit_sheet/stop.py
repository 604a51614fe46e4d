"""The page of one stop, to be read at dusk at arm's length: 11 points and more."""

from collections.abc import Callable

from reportlab.platypus import Flowable, PageBreak, Spacer, Table

from services.sheets.cautions import (
    short_caution,
    signal_word,
    unverified_caution,
)
from services.sheets.charts import plan_figure, planting_figure
from services.sheets.dates import clock, day_and_clock, day_of_year
from services.sheets.layout import (
    FIGURES,
    HAIRLINE,
    HEADING,
    INK,
    LABEL,
    LEAD,
    NAMED,
    NUMBER,
    PLAIN,
    STRONG,
    TITLE,
    WARNED,
    Drawn,
    boxed,
    coded,
    columns,
    listed,
    ruled,
    said,
    with_note,
)
from services.sheets.pages import Section
from services.sheets.text import NAME
from services.sheets.visit_sheet.facts import Stop, VisitSheets
from services.sheets.visit_sheet.measuring import asked_here, measured
from services.sheets.words import counts_in, words_in

# The drawings are lettered in 8.5 points; enlarged so, they keep to the 11 of this page.
ZOOM = 1.3


def _head(stop: Stop, number: int, sheets: VisitSheets, _: Callable[[str], str]) -> Table:
    place, target, language = stop.place, stop.target, sheets.imprint.language
    facts = {"number": number, "stops": len(sheets.stops), "week": target.week}
    line = _("Stop %(number)s of %(stops)s · week %(week)s of %(weeks)s") % {
        **facts,
        "weeks": target.weeks,
    }
    if place.begins_at and place.ends_at:
        times = (
            clock(sheets.imprint.local(one), language) for one in (place.begins_at, place.ends_at)
        )
        line = f"{line} · {' – '.join(times)}"
    where = " · ".join(part for part in (place.town, place.client, place.phone) if part)
    left = [said(line, STRONG), said(place.address, TITLE, NAME), said(where, PLAIN)]
    width = sheets.imprint.measure()
    return columns([left, coded(place.visit_address, 52)], [width - 56, 56])


def _minded(stop: Stop, width: float, language: str, _: Callable[[str], str]) -> Table:
    """Return the ruled box of what must be minded, the way in among it."""
    place = stop.place
    lines: list[Flowable] = [said(_("Mind here"), HEADING)]
    minded = [*place.minded, *stop.findings]
    if minded or not place.access:
        lines.append(listed(minded, STRONG, width - 20))
    if place.access:
        lines.append(said(_("Access: %(access)s") % {"access": place.access}, PLAIN))
    if place.unverified_place:
        lines.append(said(unverified_caution(place.unverified_place, language), WARNED))
    return boxed(lines, width)


def _target(stop: Stop, _: Callable[[str], str]) -> list[Flowable]:
    target = stop.target
    names = "\n".join(
        f"{place} {shape.name}" if len(target.plantings) > 1 else shape.name
        for place, shape in enumerate(target.plantings, start=1)
    )
    against = _("%(area)s, against %(pest)s") % {"area": target.area, "pest": target.pest}
    lines: list[Flowable] = [said(names, HEADING, NAME), said(against, PLAIN)]
    return [*lines, said(target.purpose, PLAIN)] if target.purpose else lines


def _product(stop: Stop, language: str, _: Callable[[str], str]) -> list[Flowable]:
    product = stop.product
    if product is None:
        return [Spacer(1, 1)]
    numbers = _("EPA no. %(number)s · lot %(lot)s") % {
        "number": product.registration_number,
        "lot": product.lot,
    }
    if product.expires_on:
        expiry = _("expires %(day)s") % {"day": day_of_year(product.expires_on, language)}
        numbers = f"{numbers}, {expiry}"
    facts = (product.active_ingredient, product.mode_of_action)
    lines: list[Flowable] = [
        said(product.name, LEAD, NAME),
        said(signal_word(product.signal_word, language), STRONG),
        said(numbers, STRONG),
        said(" · ".join(fact for fact in facts if fact), PLAIN),
    ]
    if product.restricted_use:
        lines.append(said(_("Restricted use: certified applicator only."), WARNED))
    return lines


def _drawing(stop: Stop, width: float, language: str) -> Flowable:
    shapes = stop.target.plantings
    if len(shapes) == 1:
        return Drawn(planting_figure(shapes[0], language, width / ZOOM, 94 / ZOOM), ZOOM)
    return Drawn(plan_figure(shapes, language, width / ZOOM, 94 / ZOOM), ZOOM)


def _tanks(stop: Stop, width: float, language: str, _: Callable[[str], str]) -> Table:
    """Return the mix in the largest type on the page: how many tanks, product, water."""
    ngettext = counts_in(language)
    rows = []
    for tank in stop.mix.tanks:
        tanks = ngettext("%(count)s tank", "%(count)s tanks, each", tank.count)
        measure = with_note(tank.product, tank.note, FIGURES, PLAIN.fontSize)
        count = said(tanks % {"count": tank.count}, NUMBER)
        rows.append([count, measure, with_note(tank.water, _("water"), FIGURES, PLAIN.fontSize)])
    lines = [
        ("LINEABOVE", (0, 0), (-1, 0), 1.6, INK),
        ("LINEBELOW", (0, -1), (-1, -1), 1.6, INK),
        ("LINEBELOW", (0, 0), (-1, -2), 0.5, HAIRLINE),
        ("VALIGN", (0, 0), (-1, -1), "MIDDLE"),
        ("TOPPADDING", (0, 0), (-1, -1), 0),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 3),
    ]
    return ruled(rows, [width * part for part in (0.22, 0.5, 0.28)], lines, (2, 1), NAMED)


def _totals(stop: Stop, _: Callable[[str], str]) -> Flowable:
    mix = stop.mix
    said_of = {"rate": mix.rate, "product": mix.total_product, "water": mix.total_water}
    line = _("Rate %(rate)s. In all %(product)s of product in %(water)s of water.") % said_of
    if mix.label_rate:
        line += " " + _("The label allows %(label_rate)s.") % {"label_rate": mix.label_rate}
    return said(line, PLAIN)


def _sprayer(stop: Stop, _: Callable[[str], str]) -> list[Flowable]:
    if not stop.mix.sprayer_setting:
        return []
    return [said(_("Sprayer: %(setting)s") % {"setting": stop.mix.sprayer_setting}, PLAIN)]


def _work(stop: Stop, width: float, _: Callable[[str], str]) -> Table:
    """Return the order of filling beside what is worn."""
    left, right = width * 0.52, width * 0.48
    respirator = stop.protection.respirator or (_("No respirator is asked by the label."),)
    filling = [
        said(_("Fill in this order, the label read"), HEADING),
        listed(stop.mix.order, PLAIN, left - 8, numbered=True),
    ]
    worn = [
        said(_("Wear before opening a container"), HEADING),
        listed(stop.protection.items, PLAIN, right - 8),
        *(said(sentence, PLAIN) for sentence in respirator),
    ]
    return columns([filling, worn], [left, right])


def _leaving(stop: Stop, sheets: VisitSheets, _: Callable[[str], str]) -> Table:
    leaving = stop.leaving
    sign = leaving.posting
    if leaving.remove_sign_at:
        moment = sheets.imprint.local(leaving.remove_sign_at)
        removal = _("The sign comes down not before %(moment)s.") % {
            "moment": day_and_clock(moment, sheets.imprint.language)
        }
        sign = f"{sign} {removal}".strip()
    contents: list[Flowable] = [said(leaving.reentry, STRONG)]
    contents += [said(sign, PLAIN)] if sign else []
    return boxed(contents, sheets.imprint.measure(), 0.8)


def _signature(width: float, _: Callable[[str], str]) -> Table:
    names = (_("Signature"), _("Certificate number"), _("Date and time"))
    line = [("LINEABOVE", (0, 0), (0, 0), 0.8, INK)]
    line += [("LINEABOVE", (place, 0), (place, 0), 0.8, INK) for place in (2, 4)]
    cells = [said(names[0], LABEL), "", said(names[1], LABEL), "", said(names[2], LABEL)]
    room = width - 24
    return ruled([cells], [room * 0.44, 12, room * 0.28, 12, room * 0.28], line, padding=(0, 1))


def _spraying(stop: Stop, sheets: VisitSheets, _: Callable[[str], str]) -> list[Flowable]:
    """Return how the spray is mixed, what is worn, what is measured, and what holds after."""
    width = sheets.imprint.measure()
    if not stop.mix.tanks:
        sentence = " ".join([*stop.mix.order, _("Do not mix; ask the office.")])
        written = [measured(stop.limits, width, _), *asked_here(stop.asked, width)]
        return [said(sentence, WARNED), *written]
    return [
        _tanks(stop, width, sheets.imprint.language, _),
        _totals(stop, _),
        *_sprayer(stop, _),
        _work(stop, width, _),
        measured(stop.limits, width, _),
        *asked_here(stop.asked, width),
        Spacer(1, 2),
        _leaving(stop, sheets, _),
    ]


def _working(width: float, _: Callable[[str], str]) -> list[Flowable]:
    """Return the empty lines of a stop at which nothing is sprayed."""
    names = (_("Start"), _("End"), _("What was done"), "", "")
    rows = [[said(name, STRONG) if name else "", ""] for name in names]
    lines = [("LINEBELOW", (1, 0), (1, -1), 0.8, INK), ("TOPPADDING", (0, 0), (-1, -1), 14)]
    nothing = said(_("Nothing is sprayed at this stop."), LEAD)
    return [nothing, Spacer(1, 8), ruled(rows, [width * 0.22, width * 0.78], lines, shape=NAMED)]


def stop_page(stop: Stop, number: int, sheets: VisitSheets) -> list[Flowable]:
    """Return the page of one stop."""
    language, width = sheets.imprint.language, sheets.imprint.measure()
    _ = words_in(language)
    head = _("Stop %(number)s: %(address)s") % {"number": number, "address": stop.place.address}
    widths = [width * part for part in (0.28, 0.43, 0.29)]
    what = [_target(stop, _), _product(stop, language, _), [_drawing(stop, widths[2], language)]]
    return [
        PageBreak(),
        Section(head),
        _head(stop, number, sheets, _),
        _minded(stop, width, language, _),
        Spacer(1, 1),
        columns(what, widths),
        Spacer(1, 1),
        *(_spraying(stop, sheets, _) if stop.product else _working(width, _)),
        Spacer(1, 7),
        _signature(width, _),
        said(short_caution(language), PLAIN),
    ]

"""Limits beside empty boxes for what was measured on the spot."""

from collections.abc import Callable, Sequence

from reportlab.platypus import Flowable, Table

from services.sheets.layout import (
    DATA,
    HAIRLINE,
    INK,
    LABEL,
    NAMED,
    PLAIN,
    STRONG,
    lettered,
    ruled,
    said,
)
from services.sheets.visit_sheet.facts import Asked, Limits


def _left(limits: Limits, _: Callable[[str], str]) -> list[tuple[str, str, str]]:
    """Return what the weather must keep to: name, limit, unit."""
    return [
        (_("Wind"), limits.wind, _("mph")),
        (_("Wind from"), limits.direction, ""),
        (_("Temperature"), limits.temperature, "°F"),
        (_("Humidity"), limits.humidity, "%"),
        (_("Rain"), limits.rain, _("hours")),
        (_("Note"), _("spill, drift, injury, left undone"), ""),
    ]


def _right(_: Callable[[str], str]) -> list[tuple[str, str]]:
    """Return what is written down besides: name, unit."""
    return [
        (_("Start"), ""),
        (_("End"), ""),
        (_("Product used"), ""),
        (_("Gallons sprayed"), _("gal")),
        (_("Lot used"), ""),
        (_("Sign put up"), ""),
    ]


def boxes(limits: Limits, _: Callable[[str], str]) -> list[str]:
    """Return the names of all that is written by hand, as the form of a visit asks it."""
    return [*(row[0] for row in _left(limits, _)), *(row[0] for row in _right(_))]


def asked_here(asked: Sequence[Asked], width: float) -> list[Flowable]:
    """Return an empty box for each field that only the rules of the place want."""
    if not asked:
        return []
    rows = [[said(f"{each.label} ({each.hint})", PLAIN), ""] for each in asked]
    lines = [("BOX", (1, 0), (1, -1), 0.8, INK), ("INNERGRID", (1, 0), (1, -1), 0.8, INK)]
    return [ruled(rows, [width * 0.47, width * 0.53], lines, padding=(3, 1), shape=NAMED)]


def measured(limits: Limits, width: float, _: Callable[[str], str]) -> Table:
    """Return the table of limits and empty boxes."""
    heads = (_("Before"), _("limit"), _("measured"), "", _("Afterwards"), _("written"))
    rows = [[said(head, LABEL) if head else "" for head in heads]]
    for weather, work in zip(_left(limits, _), _right(_), strict=True):
        name, limit, unit = weather
        done, done_unit = work
        left = [said(name, STRONG), said(limit or "–", PLAIN), unit]
        rows.append([*left, "", said(done, STRONG), done_unit])
    parts = (0.14, 0.33, 0.14, 0.02, 0.18, 0.19)
    lines = [
        ("LINEABOVE", (0, 0), (-1, 0), 0.8, INK),
        ("BOX", (2, 1), (2, -1), 0.8, INK),
        ("INNERGRID", (2, 1), (2, -1), 0.8, INK),
        ("BOX", (5, 1), (5, -1), 0.8, INK),
        ("INNERGRID", (5, 1), (5, -1), 0.8, INK),
        ("LINEBELOW", (0, 1), (1, -1), 0.4, HAIRLINE),
        ("LINEBELOW", (4, 1), (4, -1), 0.4, HAIRLINE),
        ("VALIGN", (0, 1), (-1, -1), "MIDDLE"),
        *lettered(2, LABEL),
        *lettered(5, LABEL),
    ]
    return ruled(rows, [width * part for part in parts], lines, padding=(3, 1), shape=DATA)

"""Periodic returns as paper and as a table, from the records of their period."""

from collections.abc import Iterator
from datetime import date, datetime

from django.utils import translation
from django.utils.formats import date_format
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from services.printing.imprints import imprint_for
from services.sheets.dates import number
from services.sheets.returns import ReturnSheet, draw_return
from services.sheets.spreadsheet import csv_lines
from treatments.clocks import zone_in
from treatments.models.records import ApplicationRecordQuerySet
from treatments.returning import applied_in, rows_of, totals_of
from treatments.rules.records import FIELDS, ReturnRule
from treatments.saying import cited


def caution_of(rule: ReturnRule) -> str:
    """Return that this is no official form, and what of its rule was not verified."""
    official = _(
        "Not an official form: file it as %(place)s asks, after comparing it with the law."
    )
    told = official % {"place": _(rule.name)}
    if rule.mark == "read":
        return told
    from_memory = _("The rule was not verified; it is told from memory.")
    return f"{told} {from_memory}"


def heads_of(rule: ReturnRule) -> list[str]:
    """Return the heads of the columns, in the words of the rules."""
    return [_("Record"), _("County"), *(capfirst(_(FIELDS[name])) for name in rule.fields)]


def return_csv(rule: ReturnRule, day: date, kept: ApplicationRecordQuerySet) -> Iterator[str]:
    """Return the lines of the table, which says first that it is no official form."""
    records = applied_in(rule, day, kept)
    head = [caution_of(rule), cited(rule.citation), f"{rule.first_day(day)} – {rule.last_day(day)}"]
    return csv_lines(head, [heads_of(rule), *rows_of(rule, records)])


def return_pdf(
    rule: ReturnRule,
    day: date,
    kept: ApplicationRecordQuerySet,
    *,
    language: str,
    now: datetime,
) -> bytes:
    """Return the return of the period in which a day lies as a PDF."""
    records = applied_in(rule, day, kept)
    zone = records[0].time_zone if records else zone_in(f"US-{rule.jurisdiction}").key
    with translation.override(language):
        sheet = ReturnSheet(
            imprint=imprint_for(language, now, zone),
            title=_("Return for %(place)s") % {"place": _(rule.name)},
            lead=_lead(rule, day, len(records)),
            caution=caution_of(rule),
            total_heads=(
                _("County"),
                _("Product"),
                _("EPA registration number"),
                _("Amount"),
                _("Applications"),
            ),
            totals=tuple(
                (
                    each.county,
                    each.product,
                    each.registration_number,
                    f"{number(each.amount)} {each.unit}",
                    str(each.applications),
                )
                for each in totals_of(records)
            ),
            heads=tuple(heads_of(rule)),
            rows=tuple(tuple(row) for row in rows_of(rule, records)),
        )
        return draw_return(sheet)


def _lead(rule: ReturnRule, day: date, count: int) -> str:
    due = rule.due_on(day)
    told = ngettext(
        "%(count)s application from %(first)s to %(last)s. %(rule)s [%(citation)s].",
        "%(count)s applications from %(first)s to %(last)s. %(rule)s [%(citation)s].",
        count,
    ) % {
        "count": count,
        "first": date_format(rule.first_day(day), "DATE_FORMAT"),
        "last": date_format(rule.last_day(day), "DATE_FORMAT"),
        "rule": capfirst(_(rule.rule)),
        "citation": cited(rule.citation),
    }
    by_when = _("By when it is filed is not known here.")
    if due is not None:
        by_when = _("Due: %(day)s.") % {"day": date_format(due, "DATE_FORMAT")}
    return f"{told} {by_when}"

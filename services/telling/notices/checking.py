"""What is said of a visit whose people were not told, or not in the hours their rule asks."""

from collections.abc import Iterable, Mapping
from datetime import date, datetime, time, timedelta

from services.models import Visit
from services.telling.notices.people import (
    MIDNIGHT,
    Reader,
    notice_hours,
    starts_of,
)
from services.telling.notices.told import Moments
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.records import NoticeRule, new_date_rule, notice_window

USUAL = "common practice"


def missed_notices(
    visit: Visit,
    readers: Iterable[Reader],
    given: Mapping[str, Moments],
    *,
    day: date,
    now: datetime,
    shift: time = MIDNIGHT,
) -> list[Finding]:
    """Return a finding that names who was not told yet, none when everybody was.

    readers: who is to be told, as `people_to_tell` says
    given: when each notice reached somebody, by its key, as `told_when` says
    day: on which the visit is made
    shift: when the first crew begins its day, before which nobody starts

    Whom a rule binds and who can be told in time no longer refuses the visit that day.
    """
    starts = starts_of(visit, day, shift)
    untold = [reader for reader in readers if not _in_time(reader, given, starts)]
    too_late = [reader for reader in untold if _latest(reader, starts) < now]
    if too_late:
        return [_refused(visit, too_late, starts)]
    return [_to_give(visit, day, untold)] if untold else []


def _in_time(reader: Reader, given: Mapping[str, Moments], starts: datetime) -> bool:
    """Say whether a notice reached somebody in the hours of each rule that binds."""
    moments = given.get(reader.key, ())
    if not reader.rules:
        return bool(moments)
    return all(any(_fits(rule, at, starts) for at in moments) for rule in reader.rules)


def _fits(rule: NoticeRule, at: datetime, starts: datetime) -> bool:
    window = notice_window(rule, starts)
    return at <= window.latest and (window.earliest is None or at >= window.earliest)


def _latest(reader: Reader, starts: datetime) -> datetime:
    """Return until when somebody can be told in time; without a rule there is no end."""
    ends = [notice_window(rule, starts).latest for rule in reader.rules]
    return min(ends, default=starts + timedelta(days=36500))


def _refused(visit: Visit, readers: list[Reader], starts: datetime) -> Finding:
    closes = min(_latest(reader, starts) for reader in readers)
    return Finding(
        code="notice-too-late",
        severity=Severity.REFUSAL,
        sentence=gettext_noop(
            "%(names)s had to be told by %(closes)s, and in the hours that the rule names; that "
            "time is over, and no notice in time is in the book."
        ),
        remedy=gettext_noop(
            "Move the visit so far that the notice is in time; where somebody was told, write down "
            "when and how."
        ),
        facts={
            "names": _names(readers),
            "closes": _there(visit, closes),
            "bound": True,
        },
        source=_source(readers),
        week=visit.week,
    )


def _to_give(visit: Visit, day: date, untold: list[Reader]) -> Finding:
    opens, closes = notice_hours(visit, day)
    is_bound = any(reader.is_bound for reader in untold)
    return Finding(
        code="notice-to-give",
        severity=Severity.WARNING,
        sentence=gettext_noop("To be told before the visit: %(names)s."),
        remedy=gettext_noop("Send the notice between %(opens)s and %(closes)s."),
        facts={
            "names": _names(untold),
            "opens": _there(visit, opens),
            "closes": _there(visit, closes),
            "bound": is_bound,
        },
        source=_source(untold) if is_bound else USUAL,
        week=visit.week,
    )


def not_accepted(
    visit: Visit, day: date, told_days: frozenset[date], accepted: frozenset[str]
) -> list[Finding]:
    """Return a refusal where another day than the one told must be accepted and was not.

    told_days: of which the client was told
    accepted: keys of the notices whose day was accepted
    """
    others = told_days - {day}
    if not others:
        return []
    place = visit.course.property
    rule = new_date_rule(place.jurisdiction)
    key = f"notice:{visit.pk}:{day.isoformat()}:client:{place.client_id}"
    if rule is None or key in accepted:
        return []
    return [
        Finding(
            code="day-not-accepted",
            severity=Severity.REFUSAL,
            sentence=gettext_noop(
                "%(client)s was told of %(told)s and has not accepted %(day)s, which the rule of "
                "the place asks before the work."
            ),
            remedy=gettext_noop("Ask the client, and write down that the new day is accepted."),
            facts={
                "client": place.client.name,
                "told": max(others).isoformat(),
                "day": day.isoformat(),
            },
            source=rule.source,
            week=visit.week,
        )
    ]


def _there(visit: Visit, moment: datetime) -> str:
    """Return a moment by the clocks of the property."""
    return f"{moment.astimezone(visit.course.property.zone()):%Y-%m-%d %H:%M}"


def _names(readers: list[Reader]) -> str:
    return ", ".join(reader.name for reader in readers)


def _source(readers: list[Reader]) -> str:
    return next((rule.source for reader in readers for rule in reader.rules), USUAL)

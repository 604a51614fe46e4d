"""Who must be told before an application, and in which hours before it.

Pennsylvania: everyone on the hypersensitivity registry whose property line lies within 500 feet,
12 to 72 hours before, every attempt logged [PA-128-112]; and who lives on contiguous land and
asked in writing seven days ahead or more [PA-128-85A].
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from functools import cache
from typing import Any

from treatments.rules.findings import Finding, Marked, Severity, gettext_noop
from treatments.rules.records.rulesets import RuleSet, ruleset_of, table_rulesets

ASKED, REGISTRY, ABUTTING = "asked", "registry", "abutting"  # why a neighbour is told

TOO_EARLY = gettext_noop("Told at %(told)s, before %(earliest)s; tell %(who)s again.")
TOO_LATE = gettext_noop(
    "Told at %(told)s, less than the notice that %(who)s must have before the application."
)
NOT_TOLD = gettext_noop("To be told before the application: %(who)s.")
TELL_BETWEEN = gettext_noop("Tell them from %(earliest)s to %(latest)s.")
TELL_BEFORE = gettext_noop("Tell them before %(latest)s.")
MOVE_VISIT = gettext_noop("Move the application so that the notice is in time.")


@dataclass(frozen=True, slots=True)
class NoticeRule:
    """One duty to tell somebody.  None is not known."""

    jurisdiction: str
    who: str
    trigger: str | None
    within_ft: int | None
    hours_before: int | None
    hours_before_max: int | None
    business_days_before: int | None
    days_before: int | None
    days_before_max: int | None
    asked_days_before: int | None  # how long before the application they must have asked
    on_request: bool
    how: str | None
    contents: tuple[str, ...]
    log_required: bool | None
    registry: str | None
    counties: tuple[str, ...]
    citation: str
    source: str
    mark: str

    def concerns(self, distance_ft: Decimal | None) -> bool:
        """Say whether a property line so far away is reached; an unknown distance is.

        distance_ft: from the place treated to the neighbour's property line, in feet
        """
        return self.within_ft is None or distance_ft is None or distance_ft <= self.within_ft

    def holds_in(self, county: str) -> bool:
        """Say whether a county has the rule; where the county is not known it has."""
        name = county.casefold().removesuffix("county").strip()
        return not (self.counties and name) or name in map(str.casefold, self.counties)

    def was_asked_in_time(self, asked_on: date | None, day: date) -> bool:
        """Say whether somebody asked early enough; on an unknown day they are taken to have.

        asked_on: the day on which they asked in writing; day: of the application

        >>> rule = notices_for("US-PA")[1]
        >>> day = date(2026, 6, 8)
        >>> rule.was_asked_in_time(date(2026, 6, 1), day)
        True
        >>> rule.was_asked_in_time(date(2026, 6, 2), day)
        False
        """
        if self.asked_days_before is None or asked_on is None:
            return True
        return (day - asked_on).days >= self.asked_days_before

    def binds(self, ground: str, distance_ft: Decimal | None, county: str = "") -> bool:
        """Say whether a neighbour must be told by this rule, if they asked in time where asked.

        ground: why they are told, ASKED, REGISTRY or ABUTTING
        distance_ft: from the place treated to their property line, in feet; None is not known

        Somebody on a registry is taken to live as near as one who abuts.
        """
        if self.on_request:
            is_meant = ground == ASKED
        elif self.registry:
            is_meant = ground == REGISTRY
        else:
            is_meant = ground in (REGISTRY, ABUTTING)
        return is_meant and self.concerns(distance_ft) and self.holds_in(county)


@dataclass(frozen=True, slots=True)
class NewDateRule:
    """Another day than the one that was told must be accepted before the work."""

    accepted_by: str
    citation: str
    source: str
    mark: str


@dataclass(frozen=True, slots=True)
class NoticeWindow:
    """From when to when somebody may be told; None has no limit on that side."""

    earliest: datetime | None
    latest: datetime


def notices_for(jurisdiction: str) -> list[NoticeRule]:
    """Return the duties to tell somebody before an application; empty where none was found.

    >>> [(rule.hours_before, rule.hours_before_max) for rule in notices_for("US-PA")]
    [(12, 72), (12, None)]
    """
    ruleset = ruleset_of(jurisdiction)
    return list(_notices_of_table()[ruleset.code]) if ruleset else []


@cache
def _notices_of_table() -> dict[str, tuple[NoticeRule, ...]]:
    return {each.code: tuple(notices_of(each)) for each in table_rulesets()}


def notices_of(ruleset: RuleSet) -> list[NoticeRule]:
    """Return the duties to tell somebody that a rule set holds."""
    return [_rule(ruleset, row) for row in ruleset.row["notice"]]


def new_date_rule(jurisdiction: str) -> NewDateRule | None:
    """Return who must accept another day than the one told, or None where no rule was found.

    New York: the owner of the property [NY-ECL-33].

    >>> new_date_rule("US-NY").accepted_by, new_date_rule("US-PA")
    ('customer', None)
    """
    ruleset = ruleset_of(jurisdiction)
    row = ruleset.row.get("new_date") if ruleset else None
    if ruleset is None or row is None:
        return None
    return NewDateRule(row["accepted_by"], ruleset.citation, row["source"], row["mark"])


def _rule(ruleset: RuleSet, row: dict[str, Any]) -> NoticeRule:
    return NoticeRule(
        jurisdiction=ruleset.code,
        who=row["who"],
        trigger=row.get("trigger"),
        within_ft=row["within_ft"],
        hours_before=row["hours_before"],
        hours_before_max=row["hours_before_max"],
        business_days_before=row["business_days_before"],
        days_before=row.get("days_before"),
        days_before_max=row.get("days_before_max"),
        asked_days_before=row.get("asked_days_before"),
        on_request=row["on_request"],
        how=row["how"],
        contents=tuple(row.get("contents", ())),
        log_required=row.get("log_required"),
        registry=row.get("registry"),
        counties=tuple(row.get("counties", ())),
        citation=ruleset.citation,
        source=row["source"],
        mark=row["mark"],
    )


def notice_window(rule: NoticeRule, starts_at: datetime) -> NoticeWindow:
    """Return when somebody may be told of an application that starts then.

    starts_at: the earliest start, with its time zone

    Hours are elapsed hours.  Days are whole days by the clocks of the place, back to the same
    hour.  Business days leave Saturday and Sunday out; holidays are not known here.
    """
    first = [
        back(starts_at, most)
        for back, most in (
            (_hours_before, rule.hours_before_max),
            (_days_before, rule.days_before_max),
        )
        if most is not None
    ]
    last = [
        back(starts_at, least)
        for back, least in (
            (_hours_before, rule.hours_before),
            (_days_before, rule.days_before),
            (_business_days_before, rule.business_days_before),
        )
        if least is not None
    ]
    return NoticeWindow(max(first, default=None), min(last, default=starts_at))


def _days_before(moment: datetime, days: int) -> datetime:
    return moment - timedelta(days=days)  # by the clock on the wall


def _hours_before(moment: datetime, hours: int) -> datetime:
    return (moment.astimezone(UTC) - timedelta(hours=hours)).astimezone(moment.tzinfo)


def _business_days_before(moment: datetime, days: int) -> datetime:
    day = moment.date()
    while days:
        day -= timedelta(days=1)
        days -= day.weekday() < 5
    return datetime.combine(day, time(23, 59, 59), moment.tzinfo)


def check_notice(rule: NoticeRule, starts_at: datetime, told_at: datetime | None) -> list[Finding]:
    """Return a refusal where somebody was told too early, too late or not at all.

    starts_at: the earliest start of the application
    told_at: when the notice reached them, or None
    """
    window = notice_window(rule, starts_at)
    facts = {
        "who": Marked(rule.who),
        "told": told_at,
        "earliest": window.earliest,
        "latest": window.latest,
    }
    if told_at is None:
        code, sentence, remedy = "not-told", NOT_TOLD, TELL_BETWEEN
    elif told_at > window.latest:
        code, sentence, remedy = "told-too-late", TOO_LATE, MOVE_VISIT
    elif window.earliest and told_at < window.earliest:
        code, sentence, remedy = "told-too-early", TOO_EARLY, TELL_BETWEEN
    else:
        return []
    if window.earliest is None and remedy == TELL_BETWEEN:
        remedy = TELL_BEFORE
    return [Finding(code, Severity.REFUSAL, sentence, remedy, facts, rule.source)]

"""Who must be told before an application, and in which hours before it.

Pennsylvania: everyone on the hypersensitivity registry whose property line lies within 500 feet,
12 to 72 hours before, every attempt logged [PA-128-112].
"""

from dataclasses import dataclass
from datetime import UTC, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from treatments.rules.findings import Finding, Marked, Severity, gettext_noop
from treatments.rules.records.rulesets import RuleSet, ruleset_of

ASKED, REGISTRY, ABUTTING = "asked", "registry", "abutting"  # why a neighbour is told

TOO_EARLY = gettext_noop("Told at %(told)s, more than %(hours)s hours before; tell %(who)s again.")
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

    def binds(self, ground: str, distance_ft: Decimal | None, county: str = "") -> bool:
        """Say whether a neighbour must be told by this rule.

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
    return [_rule(ruleset, row) for row in ruleset.row["notice"]] if ruleset else []


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
        trigger=row["trigger"],
        within_ft=row["within_ft"],
        hours_before=row["hours_before"],
        hours_before_max=row["hours_before_max"],
        business_days_before=row["business_days_before"],
        on_request=row["on_request"],
        how=row["how"],
        contents=tuple(row["contents"]),
        log_required=row["log_required"],
        registry=row.get("registry"),
        counties=tuple(row.get("counties", ())),
        citation=ruleset.citation,
        source=row["source"],
        mark=row["mark"],
    )


def notice_window(rule: NoticeRule, starts_at: datetime) -> NoticeWindow:
    """Return when somebody may be told of an application that starts then, in elapsed hours.

    starts_at: the earliest start, with its time zone

    Business days leave Saturday and Sunday out; holidays are not known here.
    """
    earliest = (
        None if rule.hours_before_max is None else _hours_before(starts_at, rule.hours_before_max)
    )
    if rule.business_days_before is not None:
        return NoticeWindow(earliest, _business_days_before(starts_at, rule.business_days_before))
    return NoticeWindow(earliest, _hours_before(starts_at, rule.hours_before or 0))


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
        "hours": rule.hours_before_max,
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

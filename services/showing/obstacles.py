"""What stands in the way of the visits of a week, each with the step that removes it."""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import cache

from django.urls import reverse
from django.utils.html import format_html_join
from django.utils.translation import get_language, gettext
from django.utils.translation import gettext_lazy as _

from services.courses import NoHours, spray_windows
from services.models import Visit
from services.sheets.dates import day_and_clock, short_day
from services.showing.addresses import pages_of
from services.showing.needs import in_each_language
from treatments.rules.findings import Finding, Marked, Severity
from treatments.saying import ISO_DAY, told

PREFETCHED = (
    "course__property__access_windows",
    "rotation_week__product__contents__ingredient",
)

# Where a person goes to remove what the code names; the rest is settled on the course's page.
STEPS = {
    **dict.fromkeys(
        (
            "crew-not-certified",
            "no-certificate",
            "category-not-held",
            "certificate-expired",
            "certificate-not-issued",
            "certificate-own-property",
            "certificate-restricted-use",
            "certificate-suspended",
            "limited-site",
            "limited-sprayer",
            "limited-word",
        ),
        (_("Certificates"), "services:people"),
    ),
    "no-calibration": (_("Sprayers"), "treatments:sprayers"),
    "stock-short": (_("To the store"), "treatments:store"),
    "stock-short-but-expired": (_("To the store"), "treatments:store"),
}
COURSE_STEPS = {
    "held": _("To the hold"),
    "in-bloom": _("Move the visit"),
    "left-out": _("To the visit"),
    "previous-not-done": _("To the earlier week"),
}
TO_COURSE, ACCESS, NOTICES = _("To the course"), _("Hours of access"), _("Notices")


@dataclass(frozen=True, slots=True)
class Obstacle:
    """One thing in the way of some visits, with the words and address of the next step.

    sentence, remedy: what it is and what would remove it, in the reader's words
    """

    finding: Finding
    sentence: str
    remedy: str
    visits: tuple[Visit, ...]
    step: str
    url: str

    def is_notice(self) -> bool:
        """Say whether somebody is still to be told; of that most visits have something."""
        return _is_notice(self.finding)

    def rows_meant(self) -> str:
        """Return links to the rows that it speaks of, by the name of the client."""
        rows = ((visit.pk, visit.course.property.client.name) for visit in self.visits)
        return format_html_join(", ", '<a href="#visit-{}">{}</a>', rows)


def obstacles(found: Iterable[tuple[Visit, Sequence[Finding]]], today: date) -> list[Obstacle]:
    """Return what stands in the way of visits, given what the checks found of each.

    What is said of several visits in the same words, with the same step, is said once; refusals
    come first.  The visits are loaded with PREFETCHED or by `visits_to_plan`.
    """
    heeded = (
        (visit, [*_to_heed(visit, findings, today), *_left_out(visit)]) for visit, findings in found
    )
    return said_together(heeded)


def said_together(found: Iterable[tuple[Visit, Sequence[Finding]]]) -> list[Obstacle]:
    """Return findings of visits, those in the same words and with the same step as one."""
    steps, translate = _Steps(), cache(gettext)
    said: dict[tuple[str, str], tuple[Finding, str]] = {}
    visits: dict[tuple[str, str], list[Visit]] = defaultdict(list)
    for visit, findings in found:
        for sentence, finding in _once(findings).items():
            step, url = steps.after(finding, visit)
            said[sentence, url] = (finding, step)
            visits[sentence, url].append(visit)
    made = [
        Obstacle(
            finding,
            finding.say(translate, _told_in_short),
            finding.say_remedy(translate, _told_in_short),
            tuple(visits[key]),
            step,
            key[1],
        )
        for key, (finding, step) in said.items()
    ]
    return sorted(made, key=lambda each: each.finding.severity is not Severity.REFUSAL)


def finding_left_out(visit: Visit) -> Finding | None:
    """Return why a dispatch left a visit without a crew, or None."""
    if not visit.left_out or visit.dispatch_id or not visit.is_open():
        return None
    return kept_finding(visit.left_out)


def kept_finding(kept: Mapping) -> Finding:
    """Return a reason as it was kept, for a language of the reader's own."""
    return Finding(
        code=kept.get("code", "left-out"),
        severity=Severity.WARNING,
        sentence=kept.get("sentence", ""),
        remedy=kept.get("remedy", ""),
        facts=_marked(kept.get("facts", {})),
        source=kept.get("source") or "common practice",
    )


def _marked(facts: Mapping[str, object]) -> dict[str, object]:
    """Return kept facts with their texts marked again, for a language of the reader's own."""
    marked = {name: Marked(fact) if isinstance(fact, str) else fact for name, fact in facts.items()}
    needs = marked.get("needs")
    return marked | {"needs": in_each_language(needs)} if isinstance(needs, str) else marked


def with_days_in_words(finding: Finding) -> Finding:
    """Return a finding whose days, kept as in ISO 8601, read as on the rest of the page."""
    words = {name: _in_words(fact) for name, fact in finding.facts.items()}
    return replace(finding, facts=words)


def _in_words(fact: object) -> object:
    if isinstance(fact, str):
        read = ISO_DAY.sub(_day_in_words, fact)
        return fact if read == fact else read  # what is marked stays marked
    return short_day(fact, get_language()) if isinstance(fact, date) else fact


def _told_in_short(fact: object) -> object:
    """Return a fact as its reader is told it, a day without its year."""
    return told(_in_words(fact))


def _day_in_words(found: re.Match[str]) -> str:
    if found[2]:
        return day_and_clock(datetime.fromisoformat(found[0]), get_language())
    return short_day(date.fromisoformat(found[1]), get_language())


def _once(findings: Iterable[Finding]) -> dict[str, Finding]:
    """Return what binds by its sentence: a dispatch repeats what the checks had said."""
    binding = [finding for finding in findings if finding.severity is not Severity.NOTE]
    return {finding.say(): finding for finding in reversed(binding)}


def _to_heed(visit: Visit, findings: Iterable[Finding], today: date) -> list[Finding]:
    """Return what was found; of a visit that is held or left over nobody is told yet."""
    is_coming = visit.open_hold() is None and visit.planned >= today
    found = [finding for finding in findings if is_coming or not _is_notice(finding)]
    return [*found, *_hours(visit, today)]


def _is_notice(finding: Finding) -> bool:
    return finding.code == "notice-to-give"


def _left_out(visit: Visit) -> list[Finding]:
    finding = finding_left_out(visit)
    return [finding] if finding else []


def _hours(visit: Visit, today: date) -> list[Finding]:
    """Return why no hour of the planned day will do, unless that day has passed."""
    day = max(visit.planned, today)
    if visit.state != Visit.State.NEEDS_ACTION or day > visit.latest or visit.left_out:
        return []
    try:
        spray_windows(visit, day)
    except NoHours as none:
        return [replace(none.finding, severity=Severity.WARNING)]
    return []


class _Steps:
    """Where to go to remove what findings name; what many of them share is worked out once."""

    def __init__(self) -> None:
        self.said = {code: (str(words), reverse(name)) for code, (words, name) in STEPS.items()}
        self.access, self.notices = str(ACCESS), str(NOTICES)
        self.access_page = pages_of("clients:access")
        self.notices_page = pages_of("services:visit_notices")
        self.course_page = pages_of("services:course")

    def after(self, finding: Finding, visit: Visit) -> tuple[str, str]:
        """Return the words and the address of the step that follows a finding of a visit."""
        if finding.code in self.said:
            return self.said[finding.code]
        if "access" in finding.code or "hours" in finding.code:
            return self.access, self.access_page(visit.course.property_id)
        if "notice" in finding.code or finding.code == "day-not-accepted":
            return self.notices, self.notices_page(visit.pk)
        words = str(COURSE_STEPS.get(finding.code, TO_COURSE))
        return words, f"{self.course_page(visit.course_id)}#visit-{visit.pk}"

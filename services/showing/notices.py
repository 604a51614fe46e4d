"""Notices as the office sees them: whom to tell of which visit, until when, and what was done."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from services.dispatching import what_stands_in_the_way
from services.models import Outbox, Visit
from services.showing.obstacles import with_days_in_words
from services.telling import Reader, notice_hours, people_to_tell, told_when
from treatments.rules.findings import Finding, gettext_noop
from treatments.saying import cited

AHEAD = timedelta(days=14)  # our own choice: two weeks
# What is said of who can no longer be told, where names and hours stand beside it.
TOO_LATE = gettext_noop("The time to tell them is over, and no notice in time is in the book.")
ABOUT_NOTICES = frozenset({"notice-to-give", "notice-too-late", "day-not-accepted"})


@dataclass(frozen=True, slots=True)
class ReaderShown:
    """Somebody to be told, and how far that is."""

    reader: Reader
    told_at: datetime | None
    waits_until: datetime | None

    def rules(self) -> list[str]:
        """Return the rules that ask for it, each once."""
        return list(dict.fromkeys(cited(rule.citation) for rule in self.reader.rules))


@dataclass(frozen=True, slots=True)
class NoticesOfVisit:
    """A visit with those who are to be told of it, and what is said against it."""

    visit: Visit
    zone: ZoneInfo
    opens: datetime
    closes: datetime
    readers: tuple[ReaderShown, ...]
    findings: tuple[Finding, ...]

    def is_done(self) -> bool:
        """Say whether everybody was told."""
        return not self.findings

    def beside_names(self) -> list[Finding]:
        """Return what is left to say where names, hours and who was not told stand beside it."""
        left = [each for each in self.findings if each.code != "notice-to-give"]
        return [
            replace(each, sentence=TOO_LATE) if each.code == "notice-too-late" else each
            for each in left
        ]

    def has_mails(self) -> bool:
        """Say whether a mail can still be written to somebody."""
        return any(
            each.reader.email and not each.told_at and not each.waits_until for each in self.readers
        )


def notices_ahead(visits: Any, today: date) -> list[NoticesOfVisit]:
    """Return the visits of the next two weeks of which somebody is to be told.

    visits: those that the person may see
    """
    coming = visits.open().planned_in(today, today + AHEAD).with_all_that_is_shown()
    loaded = coming.prefetch_related("course__property__neighbours")
    return notices_of([visit for visit in loaded if people_to_tell(visit)], today)


def notices_of(visits: Iterable[Visit], today: date) -> list[NoticesOfVisit]:
    """Return who is to be told of visits, in a fixed number of queries."""
    visits = list(visits)
    told = told_when(visits)
    keys = [reader.key for visit in visits for reader in people_to_tell(visit)]
    waiting = Outbox.objects.filter(
        dedupe_key__in=keys, done_at__isnull=True, failed_at__isnull=True
    )
    waits = dict(waiting.values_list("dedupe_key", "not_before"))
    found = what_stands_in_the_way(visits, today)
    return [_of_visit(visit, told, waits, found.get(visit.pk, [])) for visit in visits]


def _of_visit(
    visit: Visit,
    told: Mapping[str, tuple[datetime, ...]],
    waits: Mapping[str, datetime],
    findings: Iterable[Finding],
) -> NoticesOfVisit:
    opens, closes = notice_hours(visit)
    readers = tuple(
        ReaderShown(each, max(told.get(each.key, ()), default=None), waits.get(each.key))
        for each in people_to_tell(visit)
    )
    about = tuple(with_days_in_words(each) for each in findings if each.code in ABOUT_NOTICES)
    return NoticesOfVisit(visit, visit.course.property.zone(), opens, closes, readers, about)

"""Gathers what a crew's calendar says of its visits: the work and the place, nobody's name."""

from collections.abc import Iterable
from urllib.parse import urlsplit

from django.conf import settings
from django.urls import reverse
from django.utils.translation import gettext as _

from services.models import CrewFeed, FeedEntry
from services.sheets.crew_calendar import CalendarEntry, crew_calendar


def feed_as_calendar(feed: CrewFeed, entries: Iterable[FeedEntry], *, as_tasks: bool) -> bytes:
    """Return what a feed tells as iCalendar, in the language that is spoken now."""
    told = [_entry(feed, entry) for entry in entries]
    return crew_calendar(str(feed.crew), told, as_tasks=as_tasks)


def _entry(feed: CrewFeed, entry: FeedEntry) -> CalendarEntry:
    visit, zone = entry.visit, feed.crew.yard.zone()
    course, week = visit.course, visit.rotation_week
    facts = {"rotation": course.rotation, "week": visit.week}
    host = urlsplit(settings.ADDRESS).hostname
    return CalendarEntry(
        uid=f"visit-{visit.pk}-crew-{feed.crew_id}@{host}",
        sequence=entry.sequence,
        state=entry.state,
        starts_at=entry.starts_at.astimezone(zone),
        ends_at=entry.ends_at.astimezone(zone),
        changed_at=entry.changed_at,
        summary=f"{course.property}: {week.product or week.get_step_display()}",
        description=_("%(rotation)s, week %(week)s. The visit sheet and the label come first.")
        % facts,
        place=course.property.address(),
        point=course.property.lies_at(),
        address=settings.ADDRESS + reverse("services:visit", args=[visit.pk]),
    )

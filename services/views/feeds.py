"""The calendar of a crew: addresses made for it and taken back, and what is read there."""

from django.conf import settings
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone, translation
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from clients.access import OFFICE, allow
from services import telling
from services.models import Crew, CrewFeed
from services.printing.calendars import feed_as_calendar
from services.views.letter import unseen
from treatments.clocks import home_zone

AS_CALENDAR = "text/calendar; charset=utf-8"


@require_safe
@allow(OFFICE)
@never_cache
def feeds(request, crew_id):
    """Show the addresses at which a crew's calendar is read."""
    return shown(request, get_object_or_404(Crew, pk=crew_id))


@require_POST
@allow(OFFICE)
@never_cache
def make_feed(request, crew_id):
    """Make an address for a crew's calendar and show it, this once."""
    crew = get_object_or_404(Crew, pk=crew_id)
    return shown(request, crew, telling.make_feed(crew, by=request.user, now=timezone.now()))


@require_POST
@allow(OFFICE)
def revoke_feed(request, feed_id):
    """Take an address back; nothing is read there any more."""
    feed = get_object_or_404(CrewFeed, pk=feed_id)
    if telling.revoke_feed(feed, at=timezone.now()):
        messages.success(request, _("Nothing is read at that address any more."))
    return redirect("services:feeds", feed.crew_id)


@require_safe
@unseen
def feed_of_events(request, token):
    """Answer a calendar program: the visits as events."""
    return _calendar(token, as_tasks=False)


@require_safe
@unseen
def feed_of_tasks(request, token):
    """Answer a to-do program: the visits as things to be done."""
    return _calendar(token, as_tasks=True)


def shown(request, crew, token=""):
    """Show a crew's addresses, with a new one where it was just made."""
    new = [
        settings.ADDRESS + reverse(f"services:{name}", args=[token])
        for name in ("feed_of_events", "feed_of_tasks")
        if token
    ]
    context = {"crew": crew, "rows": crew.feeds.all(), "new": new}
    with timezone.override(home_zone()):
        return render(request, "services/feeds.html", context)


def _calendar(token, *, as_tasks):
    try:
        feed, entries = telling.read_feed(token, now=timezone.now())
    except telling.FeedUnknown as unknown:
        raise Http404 from unknown
    with translation.override(feed.crew.language()):
        return HttpResponse(
            feed_as_calendar(feed, entries, as_tasks=as_tasks), content_type=AS_CALENDAR
        )

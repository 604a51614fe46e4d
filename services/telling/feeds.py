"""The calendar of a crew that other programs follow, by an address that can be taken back.

A feed remembers what it told.  What has changed since is told under the same name with a higher
sequence number, and a visit that is the crew's no longer as cancelled [RFC 5545].
"""

import secrets
from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.db import transaction

from services.models import ClientLink, Crew, CrewFeed, FeedEntry, Visit

TOLD_FOR = timedelta(days=14)  # how long what is over stands in a calendar; our own choice


class FeedUnknown(LookupError):
    """No feed was made with this token, or it was taken back."""


def make_feed(crew: Crew, *, by: User | None, now: datetime) -> str:
    """Make a feed of a crew and return its token, which is shown once and kept nowhere."""
    token = secrets.token_urlsafe(32)
    feed = CrewFeed(crew=crew, digest=ClientLink.digest_of(token), made_at=now, made_by=by)
    feed.full_clean()
    feed.save()
    return token


def revoke_feed(feed: CrewFeed, *, at: datetime) -> bool:
    """Take a feed back; say whether it was open until now."""
    waiting = CrewFeed.objects.filter(pk=feed.pk, revoked_at__isnull=True)
    return bool(waiting.update(revoked_at=at))


@transaction.atomic
def read_feed(token: str, *, now: datetime) -> tuple[CrewFeed, list[FeedEntry]]:
    """Return a feed and what it tells now; raise FeedUnknown where it is not open.

    Read twice it tells the same.
    """
    digest = ClientLink.digest_of(token)
    open_feeds = CrewFeed.objects.select_for_update(of=("self",)).select_related("crew__yard")
    feed = open_feeds.filter(digest=digest, revoked_at__isnull=True).first()
    if feed is None:
        raise FeedUnknown
    CrewFeed.objects.filter(pk=feed.pk).update(read_at=now)
    feed.entries.filter(ends_at__lt=now - TOLD_FOR).delete()
    _tell(feed, list(_on_routes(feed.crew, now)), now)
    shown = "visit__course__property", "visit__course__rotation", "visit__rotation_week__product"
    return feed, list(feed.entries.select_related(*shown).order_by("starts_at", "pk"))


def _on_routes(crew: Crew, now: datetime) -> Iterable[Visit]:
    """Return the visits on the crew's routes whose hours are not long over."""
    visits = Visit.objects.filter(dispatch__crew=crew, arrives_at__isnull=False)
    return visits.filter(leaves_at__gte=now - TOLD_FOR)


def _tell(feed: CrewFeed, visits: Iterable[Visit], now: datetime) -> None:
    """Bring what a feed tells in line with the routes; what is alike is left alone."""
    told = {entry.visit_id: entry for entry in feed.entries.all()}
    for visit in visits:
        entry = told.pop(visit.pk, None)
        columns = {
            "starts_at": visit.arrives_at,
            "ends_at": visit.leaves_at,
            "state": visit.state,
        }
        if entry is None:
            feed.entries.create(visit=visit, changed_at=now, **columns)
        else:
            _change(entry, columns, now)
    for entry in told.values():
        _change(entry, {"state": Visit.State.CANCELLED}, now)


def _change(entry: FeedEntry, columns: Mapping[str, object], now: datetime) -> None:
    differs = {name: value for name, value in columns.items() if getattr(entry, name) != value}
    if not differs:
        return
    for name, value in differs.items():
        setattr(entry, name, value)
    entry.sequence += 1
    entry.changed_at = now
    entry.save()

"""What is signed in, by whom and since when, and how it ends.

A change of role, licence or password ends a person's sessions at once; so may the person, and the
owner those of everybody.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from hashlib import sha256

from django.conf import settings
from django.contrib.auth import SESSION_KEY, get_user_model
from django.contrib.auth.models import User
from django.contrib.sessions.models import Session
from django.utils import timezone

SIGNED_IN = "signed_in"  # key of what a session keeps of its beginning
HANDHELD = "Mobi"  # browsers of phones and tablets say so in User-Agent: common practice


@dataclass(frozen=True, slots=True)
class SignedIn:
    """A session that opens the book.

    mark: names the session and opens nothing
    at: when it began
    is_handheld: a phone or a tablet, by what its browser says of itself
    """

    mark: str
    person: User
    at: datetime
    is_handheld: bool


def note_beginning(sender, request, user, **signal) -> None:
    """Keep in a session when it began and on what; a receiver of `user_logged_in`."""
    handheld = HANDHELD in request.headers.get("User-Agent", "")
    request.session[SIGNED_IN] = {"at": timezone.now().isoformat(), "is_handheld": handheld}


def mark_of(key: str) -> str:
    """Return a name for a session that does not tell its key.

    >>> mark_of("k")
    '8254c329a92850f6'
    """
    return sha256(key.encode()).hexdigest()[:16]


def signed_in(of: User | None = None) -> list[SignedIn]:
    """Return what is signed in now, the latest first; of one person, or of everybody."""
    held = list(_held(of))
    people = get_user_model().objects.in_bulk({told[SESSION_KEY] for _session, told in held})
    shown = [
        _shown(session, told, people[int(told[SESSION_KEY])])
        for session, told in held
        if int(told[SESSION_KEY]) in people
    ]
    return sorted(shown, key=lambda each: each.at, reverse=True)


def _held(of: User | None) -> Iterator[tuple[Session, dict]]:
    for session in Session.objects.filter(expire_date__gt=timezone.now()).iterator():
        told = session.get_decoded()
        if SESSION_KEY in told and (of is None or told[SESSION_KEY] == str(of.pk)):
            yield session, told


def _shown(session: Session, told: dict, person: User) -> SignedIn:
    began = told.get(SIGNED_IN)
    if began is None:  # of before beginnings were kept
        at = session.expire_date - timedelta(seconds=settings.SESSION_COOKIE_AGE)
        return SignedIn(mark_of(session.pk), person, at, is_handheld=False)
    at = datetime.fromisoformat(began["at"])
    return SignedIn(mark_of(session.pk), person, at, began["is_handheld"])


def end_session(mark: str, of: User | None = None) -> bool:
    """End the session of a mark; of one person, or of anybody.  Say whether there was one."""
    found = [session.pk for session, _told in _held(of) if mark_of(session.pk) == mark]
    return bool(Session.objects.filter(pk__in=found).delete()[0])


def end_sessions(user: User, keep: str | None = None) -> int:
    """Sign a person out everywhere; return how many sessions that ended.

    keep: the key of the session that stays
    """
    theirs = [session.pk for session, _told in _held(user) if session.pk != keep]
    return Session.objects.filter(pk__in=theirs).delete()[0]

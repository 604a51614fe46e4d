"""Ends the sessions of a person, so that a change of role or licence holds at once."""

from django.contrib.auth import SESSION_KEY
from django.contrib.auth.models import User
from django.contrib.sessions.models import Session


def end_sessions(user: User) -> int:
    """Sign a person out everywhere; return how many sessions that ended."""
    theirs = [
        session.pk
        for session in Session.objects.iterator()
        if session.get_decoded().get(SESSION_KEY) == str(user.pk)
    ]
    return Session.objects.filter(pk__in=theirs).delete()[0]

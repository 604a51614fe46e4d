"""Who gave the right password and has yet to give a code: signed in to nothing until then.

It lies in the session of a stranger, so that pages, API and papers know nobody there.
"""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.contrib.auth import get_user_model, logout
from django.contrib.auth.models import User
from django.utils import timezone
from django.utils.crypto import constant_time_compare

KEY = "half_way"
OF_PASSWORD = timedelta(minutes=5)  # in which a code has to follow it
OF_SETTING_UP = timedelta(minutes=15)  # where the phone is yet to learn its codes


@dataclass(frozen=True, slots=True)
class HalfWay:
    """A sign-in that waits for a code.

    backend: what knew the password
    to: the address of this book where the person wanted to go
    typed: what a form held whose person was signed out meanwhile, as `typed.py` signed it
    """

    person: User
    backend: str
    to: str
    typed: str


def wait_half_way(request, person: User, *, to: str, typed: str) -> None:
    """Keep who gave the right password; whoever else was signed in there is so no more."""
    logout(request)
    request.session[KEY] = {
        "person": person.pk,
        "backend": person.backend,  # known since the password was right
        "password": person.get_session_auth_hash(),
        "at": timezone.now().isoformat(),
        "to": to,
        "typed": typed,
    }


def half_way_of(request, within: timedelta = OF_PASSWORD) -> HalfWay | None:
    """Return who is half way in; nobody after its time, or with another password since."""
    held = request.session.get(KEY)
    if held is None or timezone.now() - datetime.fromisoformat(held["at"]) > within:
        return None
    person = get_user_model().objects.filter(pk=held["person"], is_active=True).first()
    if person is None or not constant_time_compare(
        person.get_session_auth_hash(), held["password"]
    ):
        return None
    return HalfWay(person, held["backend"], held["to"], held["typed"])


def leave_half_way(request) -> str | None:
    """Forget who waited; return where that person wanted to go, or None where nobody waited."""
    held = request.session.pop(KEY, None)
    return held["to"] if held else None

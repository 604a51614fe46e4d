"""One-time codes at the doors: each wrong one counts beside the wrong passwords of its account."""

from axes.handlers.proxy import AxesProxyHandler
from django.contrib.auth.models import User
from django.contrib.auth.signals import user_login_failed
from django.utils import timezone

from services.second_factor import TooManyCodes, new_seed, take_code

SEED = "codes_seed"  # key of what a session keeps while a phone is set up


def is_right_code(request, person: User, typed: str) -> bool:
    """Take a person's code; raise TooManyCodes where too many were wrong, here or anywhere."""
    known = {"username": person.get_username()}
    if not AxesProxyHandler.is_allowed(request, known):
        raise TooManyCodes
    if take_code(person, typed, now=timezone.now()):
        return True
    user_login_failed.send(__name__, credentials=known, request=request)
    return False


def seed_in(request) -> str:
    """Return the seed by which a phone is being set up, the same until it is."""
    return request.session.setdefault(SEED, new_seed())


def forget_seed(request) -> None:
    """Forget it once the phone knows its secret."""
    request.session.pop(SEED, None)

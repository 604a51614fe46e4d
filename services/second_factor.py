"""The second factor of a sign-in: one-time codes of a phone, and recovery codes on paper.

A code is taken once.  Who tries one knows the password already, so that wrong ones are counted by
account, wherever they come from.
"""

import hmac
import logging
import secrets
from datetime import datetime, timedelta

from django.conf import settings
from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils.translation import gettext as _

from clients.access import OFFICE, has_role
from clients.sessions import end_sessions
from services.devices import LETTERS, plain_code
from services.models import Authenticator, Device, RecoveryCode
from services.rules.one_time_codes import SECRET_BYTES, step_of
from treatments.models import Business

logger = logging.getLogger(__name__)

RECOVERY_CODES = 10
RECOVERY_LENGTH = 24  # of 32 letters: 120 bits, so that a plain digest may be kept [ASVS 6.5.2]
MOST_WRONG = 10
COUNTED_FOR = timedelta(minutes=15)


class TooManyCodes(Exception):
    """So many codes were wrong that for a while none is taken."""


def new_seed() -> str:
    """Return a seed of which a person's secret is made."""
    return secrets.token_urlsafe(24)


def secret_of(person: User, seed: str) -> bytes:
    """Return the secret that makes a person's codes, of the seed and the book's own key."""
    told = f"codes:{person.pk}:{seed}".encode()
    return hmac.digest(settings.SECRET_KEY.encode(), told, "sha256")[:SECRET_BYTES]


def is_on(person: User) -> bool:
    """Say whether a person signs in with codes."""
    return Authenticator.objects.filter(person=person).exists()


def is_wanted_of(person: User) -> bool:
    """Say whether the business wants a person to sign in with codes."""
    is_meant = person.is_superuser or has_role(person, OFFICE)
    return is_meant and Business.of_this_book().needs_codes


def is_lacking(person: User) -> bool:
    """Say whether the business wants codes of a person who has none."""
    return is_wanted_of(person) and not is_on(person)


@transaction.atomic
def turn_on(
    person: User, seed: str, code: str, *, now: datetime, keep: str | None = None
) -> list[str]:
    """Turn codes on by a right one; return the recovery codes, which are shown this once.

    keep: the key of the session that stays; what the password alone signed in ends
    """
    step = step_of(plain_code(code), secret_of(person, seed), seconds=_seconds(now))
    if step is None:
        raise ValidationError({"one_time_code": wrong_code()})
    held, is_new = Authenticator.objects.get_or_create(
        person=person, defaults={"seed": seed, "turned_on_at": now, "last_step": step}
    )
    if not is_new:
        raise ValidationError(_("Codes are on already."), code="on_already")
    end_sessions(person, keep=keep)
    logger.info("sign-in codes turned on", extra=_who(person, person))
    return _new_recovery_codes(held)


@transaction.atomic
def take_code(person: User, typed: str, *, now: datetime) -> bool:
    """Take a code of the phone or of paper, once; say whether it was right.

    Raise TooManyCodes where too many were wrong.  The row is locked, so that of many tries at
    once each is counted.
    """
    held = Authenticator.objects.select_for_update().filter(person=person).first()
    if held is None:
        return False
    if held.wrong_since is None or now - held.wrong_since >= COUNTED_FOR:
        held.wrong_codes, held.wrong_since = 0, now
    if held.wrong_codes >= MOST_WRONG:
        raise TooManyCodes
    is_right = _is_taken(held, plain_code(typed), now)
    held.wrong_codes = 0 if is_right else held.wrong_codes + 1
    held.save()
    return is_right


@transaction.atomic
def renew_recovery_codes(person: User) -> list[str]:
    """Make the recovery codes anew; the former open nothing any more."""
    held = Authenticator.objects.select_for_update().get(person=person)
    held.recovery_codes.all().delete()
    logger.info("recovery codes made anew", extra=_who(person, person))
    return _new_recovery_codes(held)


def recovery_codes_left(person: User) -> int:
    """Return how many recovery codes of a person were not used yet."""
    unused = RecoveryCode.objects.filter(used_at__isnull=True)
    return unused.filter(authenticator__person=person).count()


@transaction.atomic
def turn_off(person: User, *, by: User | None, keep: str | None = None) -> bool:
    """Turn a person's codes off and end the sessions; say whether they were on.

    by: the person, an owner for one who lost the phone, or None at the console
    keep: the key of the session that stays
    """
    taken, _by_table = Authenticator.objects.filter(person=person).delete()
    if not taken:
        return False
    end_sessions(person, keep=keep)
    logger.info("sign-in codes turned off", extra=_who(person, by))
    return True


@transaction.atomic
def want_codes(*, are_wanted: bool, by: User) -> None:
    """Have owner and office sign in with codes from now on, or no more.

    Who has none is signed out, and led to them at the next sign-in.
    """
    if are_wanted and not is_on(by):
        raise ValidationError(_("Turn codes on for yourself first."), code="not_on")
    if not Business.objects.update(needs_codes=are_wanted):
        raise ValidationError(_("Say first whose book this is."), code="no_business")
    logger.info("sign-in codes wanted", extra={"by": by.pk, "are_wanted": are_wanted})
    for person in get_user_model().objects.filter(is_active=True, authenticator__isnull=True):
        if is_lacking(person):
            end_sessions(person)


def wrong_code() -> str:
    """Return what is said of a code that was not taken, whatever the reason."""
    return _("This code does not fit, or it was used before.")


def _is_taken(held: Authenticator, code: str, now: datetime) -> bool:
    secret = secret_of(held.person, held.seed)
    step = step_of(code, secret, seconds=_seconds(now), after=held.last_step)
    if step is not None:
        held.last_step = step
        return True
    unused = held.recovery_codes.filter(digest=Device.digest_of(code), used_at__isnull=True)
    if not unused.update(used_at=now):
        return False
    logger.info("recovery code used", extra=_who(held.person, held.person))
    return True


def _new_recovery_codes(held: Authenticator) -> list[str]:
    codes = [
        "".join(secrets.choice(LETTERS) for _place in range(RECOVERY_LENGTH))
        for _number in range(RECOVERY_CODES)
    ]
    RecoveryCode.objects.bulk_create(
        RecoveryCode(authenticator=held, digest=Device.digest_of(code)) for code in codes
    )
    return codes


def _seconds(moment: datetime) -> int:
    return int(moment.timestamp())


def _who(person: User, by: User | None) -> dict:
    return {"person": person.pk, "by": by.pk if by else None}

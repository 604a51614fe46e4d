"""What a phone is set up with for one-time codes, and who of the office has none yet."""

from dataclasses import dataclass
from datetime import datetime

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.utils.safestring import SafeString

from clients.access import OFFICE
from services.models import Authenticator
from services.rules.one_time_codes import address_of, in_letters
from services.second_factor import recovery_codes_left, secret_of
from services.showing.phones import as_qr, in_groups
from treatments.models import Business

NAME = "Duskbook"


@dataclass(frozen=True, slots=True)
class CodesShown:
    """Since when a person signs in with codes, and how many recovery codes are left."""

    since: datetime
    left: int


def codes_of(person: User) -> CodesShown | None:
    """Return how a person's codes stand, or None where they are off."""
    held = Authenticator.objects.filter(person=person).first()
    return CodesShown(held.turned_on_at, recovery_codes_left(person)) if held else None


def set_up_shown(person: User, seed: str) -> dict[str, str | SafeString]:
    """Return the QR code, the secret in groups of four, and the address for the phone itself."""
    secret = secret_of(person, seed)
    issuer = Business.of_this_book().name or NAME
    address = address_of(secret, name=person.get_username(), issuer=issuer)
    return {"qr": as_qr(address), "secret": in_groups(in_letters(secret)), "address": address}


def recovery_codes_shown(codes: list[str]) -> dict[str, list[str]]:
    """Return recovery codes in groups, as they are read off paper."""
    return {"codes": [in_groups(code) for code in codes]}


def without_codes() -> list[User]:
    """Return owners and office who have no codes yet."""
    people = get_user_model().objects.filter(is_active=True, authenticator__isnull=True)
    return list(people.filter(groups__name__in=OFFICE).order_by("last_name", "first_name"))

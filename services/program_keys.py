"""Keys with which programs sign in to the API, as a person and within scopes.

A key is sent as a bearer token [RFC 6750].  It is shown once; the book keeps its SHA-256.
"""

import secrets
from datetime import date, datetime, timedelta

from django.contrib.auth.models import User
from django.http import HttpRequest
from django.utils import timezone
from django.utils.translation import gettext_lazy as _
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from rest_framework.authentication import BaseAuthentication
from rest_framework.exceptions import AuthenticationFailed, PermissionDenied
from rest_framework.permissions import SAFE_METHODS

from services.models import ClientLink, ProgramKey

BEGINS = "duskbook_"  # so that a key is known for one where it was left by mistake
WORD = "Bearer"
NOTED_EVERY = timedelta(minutes=5)  # how exactly the last use is told


def make_key(
    person: User, *, name: str, scopes: list[str], expires_on: date, by: User, now: datetime
) -> str:
    """Make a key for a program and return it; it is shown once and kept nowhere."""
    key = BEGINS + secrets.token_urlsafe(32)
    row = ProgramKey(
        person=person,
        name=name,
        scopes=scopes,
        expires_on=expires_on,
        digest=ClientLink.digest_of(key),
        made_at=now,
        made_by=by,
    )
    row.full_clean()
    row.save()
    return key


def revoke_key(row: ProgramKey, *, at: datetime) -> bool:
    """Take a key back; say whether it was open until now."""
    return bool(ProgramKey.objects.filter(pk=row.pk, revoked_at__isnull=True).update(revoked_at=at))


class KeySignIn(BaseAuthentication):
    """Signs a program in by its key; what its scopes do not name is refused."""

    def authenticate(self, request):
        """Return the person whose key was sent, or None where none was."""
        row = row_sent(request)
        if row is None:
            return None
        if request.method not in SAFE_METHODS or "read" not in row.scopes:
            _refuse_outside(row, request)
        note_use(row)
        return row.person, row

    def authenticate_header(self, request):
        """Return what a program is told that sent no key, or a wrong one."""
        return WORD


class KeyScheme(OpenApiAuthenticationExtension):
    """How the schema of the API tells that a key is sent."""

    target_class = KeySignIn
    name = "programKey"

    def get_security_definition(self, auto_schema):
        """Return the security scheme of OpenAPI."""
        return {"type": "http", "scheme": "bearer"}


def row_sent(request: HttpRequest) -> ProgramKey | None:
    """Return the key that a request brings, or None; raise AuthenticationFailed for a wrong one."""
    parts = request.headers.get("Authorization", "").split()
    if not parts or parts[0].lower() != WORD.lower():
        return None
    key = parts[1] if len(parts) == 2 else ""
    rows = ProgramKey.objects.select_related("person")
    row = rows.filter(digest=ClientLink.digest_of(key), person__is_active=True).first()
    if row is None or not row.is_open_at(timezone.now()):
        raise AuthenticationFailed(_("This key is not known, or holds no longer."))
    return row


def _refuse_outside(row: ProgramKey, request) -> None:
    """Raise PermissionDenied where a request is outside the scopes of a key."""
    view = request.parser_context["view"]
    package = type(view).__module__.partition(".")[0]
    writes = getattr(view, "scope", "") or f"write:{package}"
    needed = "read" if request.method in SAFE_METHODS else writes
    if needed not in row.scopes:
        raise PermissionDenied(
            _("This key has no scope %(scope)s.") % {"scope": needed}, code="scope"
        )


def note_use(row: ProgramKey) -> None:
    """Keep when a key was used last, every few minutes."""
    now = timezone.now()
    if row.used_at is None or now - row.used_at >= NOTED_EVERY:
        ProgramKey.objects.filter(pk=row.pk).update(used_at=now)

"""The links that open one client's pages without an account; only their SHA-256 is kept."""

import secrets
from datetime import datetime, timedelta

from clients.models import Client
from services.models import ClientLink

DAYS_OPEN = 90


class LinkUnknown(LookupError):
    """No link was ever made with this token."""


class LinkEnded(LookupError):
    """The link was made, and has run out or was taken back."""


def make_link(client: Client, *, now: datetime) -> str:
    """Make a link for a client and return its token, which is shown once and kept nowhere."""
    token = secrets.token_urlsafe(32)
    link = ClientLink(
        client=client,
        digest=ClientLink.digest_of(token),
        expires_at=now + timedelta(days=DAYS_OPEN),
    )
    link.full_clean()
    link.save()
    return token


def client_of(token: str, now: datetime) -> Client:
    """Return whose page a token opens; raise LinkUnknown or LinkEnded."""
    digest = ClientLink.digest_of(token)
    link = ClientLink.objects.select_related("client").filter(digest=digest).first()
    if link is None:
        raise LinkUnknown
    if not link.is_open_at(now):
        raise LinkEnded
    return link.client


def revoke_link(link: ClientLink, *, at: datetime) -> bool:
    """Take a link back; say whether it was open until now."""
    return bool(
        ClientLink.objects.filter(pk=link.pk, revoked_at__isnull=True).update(revoked_at=at)
    )

"""Calls the addresses of other programs when something happened, signed, until they answer.

A call says what happened and to which thing, and nothing of a client: the program reads the rest
through the API with a key of its own.  Headers and signature are those of the open specification
Standard Webhooks, version 1: HMAC-SHA256 of the id, the moment and the body, joined by dots.
"""

import base64
import hashlib
import hmac
import json
from collections.abc import Mapping
from datetime import datetime
from urllib.parse import urlsplit

from django.conf import settings
from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from services.fetching import FetchFailed, post_bytes, source_of
from services.models import Hook, Outbox
from services.telling.outbox import queue

BEGINS = "whsec_"  # of the specification


def make_hook(*, name: str, address: str, events: list[str], by: User, now: datetime) -> Hook:
    """Keep an address that is called; raise ValidationError where the settings do not name it."""
    refuse_address(address)
    hook = Hook(name=name, address=address, events=events, made_at=now, made_by=by)
    hook.full_clean()
    hook.save()
    return hook


def end_hook(hook: Hook, *, at: datetime) -> bool:
    """Call an address no more; say whether it was called until now."""
    return bool(Hook.objects.filter(pk=hook.pk, ended_at__isnull=True).update(ended_at=at))


def refuse_address(address: str) -> None:
    """Raise ValidationError for an address at none of the servers that the settings name."""
    if _server_of(address) not in settings.HOOKS or urlsplit(address).fragment:
        raise ValidationError(
            _("The settings name no such server: DUSKBOOK_HOOKS has to, such as https://host."),
            code="server",
        )


def secret_of(hook: Hook) -> str:
    """Return the secret of an address, which is made of the book's own and kept nowhere."""
    made = hmac.digest(settings.SECRET_KEY.encode(), f"hook:{hook.hook_id}".encode(), "sha256")
    return BEGINS + base64.b64encode(made).decode()


def signature_of(secret: str, call_id: str, moment: int, body: bytes) -> str:
    """Return the signature of a call, such as "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="."""
    key = base64.b64decode(secret.removeprefix(BEGINS))
    signed = b".".join([call_id.encode(), str(moment).encode(), body])
    return "v1," + base64.b64encode(hmac.digest(key, signed, hashlib.sha256)).decode()


def announce(event: Hook.Event, about: Mapping[str, object], *, once: str, at: datetime) -> None:
    """Write down the calls of what happened, in its own transaction.

    about: ids of the things, by name; once: what tells this from the same event of another thing
    """
    for hook in Hook.objects.filter(ended_at__isnull=True):
        if event.value in hook.events:
            queue(
                Outbox.Kind.HOOK,
                arguments={
                    "hook": hook.pk,
                    "event": event.value,
                    "at": at.isoformat(timespec="seconds"),
                    "about": dict(about),
                },
                dedupe_key=f"hook:{hook.pk}:{event.value}:{once}",
                not_before=at,
            )


def call(row: Outbox, now: datetime) -> None:
    """Make the call that a row asks for; raise OSError where it was not taken.

    A call that is made twice has the same id both times, so that a program takes it once.
    """
    told = row.arguments
    hook = Hook.objects.get(pk=told["hook"])
    if hook.ended_at is not None:
        return
    if _server_of(hook.address) not in settings.HOOKS:
        raise FetchFailed("DUSKBOOK_HOOKS does not name this server any more.")
    body = json.dumps({"type": told["event"], "timestamp": told["at"], "data": told["about"]})
    moment, call_id = int(now.timestamp()), f"msg_{row.pk}_{hook.hook_id.hex}"
    parts = urlsplit(hook.address)
    headers = {
        "Content-Type": "application/json",
        "webhook-id": call_id,
        "webhook-timestamp": str(moment),
        "webhook-signature": signature_of(secret_of(hook), call_id, moment, body.encode()),
    }
    source = source_of(_server_of(hook.address), may_be_private=True, headers=headers)
    path = parts.path or "/"
    post_bytes(source, f"{path}?{parts.query}" if parts.query else path, body.encode())


def _server_of(address: str) -> str:
    """Return the scheme, host and port of an address."""
    parts = urlsplit(address)
    return f"{parts.scheme}://{parts.netloc}"

"""Answers a request once: the same key again gets the same reply, whatever happened between.

The key, what was asked and the reply are written in the transaction of what was done, as
draft-ietf-httpapi-idempotency-key-header describes it.
"""

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any
from uuid import UUID, uuid5

from django.contrib.auth.models import User
from django.db import transaction

from services.models import Reply

EVENTS = UUID("6f1c1f5e-2f0c-4c66-9a3e-3a1a5f0f7d11")  # our own, so that no other name meets it


class AnotherRequest(ValueError):
    """The key was used before, for something else."""


@dataclass(frozen=True, slots=True)
class Answer:
    """What is answered to a request, and whether that was answered before."""

    status: int
    body: Any
    is_repeated: bool = False


@transaction.atomic
def answer_once(
    key: str,
    *,
    sender: User,
    asked: Mapping[str, Any],
    do: Callable[[], tuple[int, Any]],
) -> Answer:
    """Do what is asked and keep the reply; a repeat gets the kept one and does nothing.

    do: returns status and body of the reply; where it raises, nothing is kept
    Raise AnotherRequest where the sender used the key for something else.
    """
    fingerprint = fingerprint_of(asked)
    reply, is_new = Reply._default_manager.get_or_create(
        sender_id=sender.pk, key=key, defaults={"fingerprint": fingerprint}
    )
    if reply.fingerprint != fingerprint:
        raise AnotherRequest
    if not is_new:
        return Answer(reply.status, reply.body, is_repeated=True)
    reply.status, reply.body = do()
    reply.save(update_fields=["status", "body"])
    return Answer(reply.status, reply.body)


def fingerprint_of(asked: Mapping[str, Any]) -> str:
    """Return the SHA-256 of what was asked, the same for the same values in any order."""
    text = json.dumps(asked, sort_keys=True, separators=(",", ":"), default=str)
    return hashlib.sha256(text.encode()).hexdigest()


def event_id_of(key: str, sender: User) -> UUID:
    """Return the id by which what a request makes is known for ever."""
    return uuid5(EVENTS, f"{sender.pk}:{key}")

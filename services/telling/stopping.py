"""Letters that a client may stop by one click, and what is never stopped like that.

Mail that no rule asks for - summaries of visits, estimates - carries List-Unsubscribe [RFC 2369]
and List-Unsubscribe-Post [RFC 8058].  What the law may ask for carries neither: a notice before a
visit, which many places want given and which says when to keep away; the copy of a record, which
is the client's due; and the answer to what a client has asked.
"""

import logging
from datetime import date

from django.conf import settings
from django.core import signing
from django.core.mail import EmailMessage
from django.urls import reverse

from clients.keeping import keep
from clients.models import Client

logger = logging.getLogger(__name__)

SALT = "letters that are stopped"
ONE_CLICK = "List-Unsubscribe=One-Click"  # [RFC 8058, section 3.1]


class NoSuchStop(LookupError):
    """Nobody's letters are stopped at this address."""


def stop_address(client: Client) -> str:
    """Return the address at which a client's letters are stopped; it never runs out."""
    token = signing.dumps(client.pk, salt=SALT)
    return settings.ADDRESS + reverse("services:stop_letters", args=[token])


def client_of_stop(token: str) -> Client:
    """Return whose letters an address stops; raise NoSuchStop."""
    try:
        return Client.objects.get(pk=signing.loads(token, salt=SALT))
    except (signing.BadSignature, Client.DoesNotExist) as wrong:
        raise NoSuchStop from wrong


def stop_letters(client: Client, *, on: date) -> bool:
    """Mail a client nothing more that no rule asks for; say whether that is new."""
    if client.letters_stopped_on is not None:
        return False
    client.letters_stopped_on = on
    keep(client, version=client.version)
    logger.info("letters stopped", extra={"client": client.pk})
    return True


def may_be_stopped(letter: EmailMessage, client: Client) -> EmailMessage:
    """Return a letter that says, to programs and people, where such letters are stopped.

    The mail server has to sign both headers [RFC 8058, section 4]; without HTTPS none is believed.
    """
    address = stop_address(client)
    letter.extra_headers["List-Unsubscribe"] = f"<{address}>"
    if address.startswith("https:"):
        letter.extra_headers["List-Unsubscribe-Post"] = ONE_CLICK
    return letter

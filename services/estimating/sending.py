"""Has an estimate mailed to its client, with a link by which it is answered."""

from datetime import date, datetime

from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from services.models import Estimate, Outbox
from services.telling.letters import LETTERS_STOPPED, NO_ADDRESS
from services.telling.outbox import queue


def send_estimate(estimate: Estimate, *, today: date, at: datetime) -> Outbox:
    """Queue the mail of an open estimate; twice sends it once.

    Raise ValidationError where it is over, or the client has no address.
    """
    if estimate.state_on(today) != Estimate.State.OPEN:
        raise ValidationError(_("Only an open estimate is sent."), code="over")
    client = estimate.property.client
    if client.letters_stopped_on:
        raise ValidationError(LETTERS_STOPPED, code="stopped")
    if not client.mailbox():
        raise ValidationError(NO_ADDRESS, code="no_address")
    return queue(
        Outbox.Kind.ESTIMATE,
        arguments={"estimate": estimate.pk, "client": client.pk},
        dedupe_key=f"estimate:{estimate.pk}",
        not_before=at,
    )

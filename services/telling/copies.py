"""A copy of a record that goes to its client by mail, and counts as given once it went out."""

from datetime import datetime

from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from services.models import Outbox
from services.telling.outbox import queue
from treatments.models import ApplicationRecord


def mail_copy(record: ApplicationRecord, *, now: datetime) -> Outbox:
    """Write down that a copy of a record goes to its client; twice does it once.

    Raise ValidationError where the client has no address for mail.
    """
    client = record.planting.property.client
    if not client.email:
        raise ValidationError(_("The client has no email address."), code="no_email")
    return queue(
        Outbox.Kind.RECORD_COPY,
        arguments={"record": record.pk, "client": client.pk},
        dedupe_key=f"copy:{record.number}",
        not_before=now,
    )

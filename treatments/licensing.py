"""What follows when the licence of a person changes: it holds at once."""

import logging
from datetime import datetime
from typing import Any

from clients.sessions import end_sessions
from treatments.journaling import journal_certificate
from treatments.models import Applicator, Certificate

logger = logging.getLogger(__name__)


def licence_changed(holder: Applicator, *, by: Any) -> int:
    """End the sessions of whoever signs in as the holder; return how many that were.

    Who changes the own licence stays signed in: what it allows is asked on every page anyway.
    """
    if holder.user is None:
        return 0
    ended = 0 if holder.user_id == by.pk else end_sessions(holder.user)
    logger.info("licence changed", extra={"person": holder.user_id, "by": by.pk})
    return ended


def certificate_changed(certificate: Certificate, *, by: Any, at: datetime) -> None:
    """Write a certificate into the journal and end its holder's sessions; in one transaction."""
    journal_certificate(certificate, by=by, at=at)
    licence_changed(certificate.applicator, by=by)

"""Signs are confirmed against the code of their jurisdiction before they are printed."""

from datetime import datetime
from typing import Any

from django.db import transaction

from treatments.models import SignConfirmed
from treatments.rules.records import SignDesign


@transaction.atomic
def confirm_sign(*, design: SignDesign, by: Any, at: datetime) -> SignConfirmed:
    """Keep who compared a sign with the code; a second time changes nothing."""
    kept, _is_new = SignConfirmed.objects.get_or_create(
        jurisdiction=design.posting.jurisdiction,
        fingerprint=design.fingerprint(),
        defaults={"confirmed_by": by, "confirmed_at": at},
    )
    return kept


def confirmed(design: SignDesign) -> SignConfirmed | None:
    """Return who compared this very sign with the code, or None."""
    return (
        SignConfirmed.objects.filter(
            jurisdiction=design.posting.jurisdiction, fingerprint=design.fingerprint()
        )
        .select_related("confirmed_by")
        .first()
    )

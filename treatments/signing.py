"""Signs are confirmed against the code of their jurisdiction before they are printed."""

from base64 import b64decode
from collections.abc import Mapping
from datetime import datetime
from typing import Any

from django.db import transaction

from treatments.models import OwnSign, SignConfirmed
from treatments.rules.records import OwnSource, SignDesign, own_design


@transaction.atomic
def keep_own_sign(*, design: SignDesign, told: Mapping[str, Any], by: Any, at: datetime) -> OwnSign:
    """Keep a sign as the owner took it from the code, in place of what the table has.

    design: of the table; told: the columns of an own sign
    """
    own = OwnSign(
        jurisdiction=design.posting.jurisdiction,
        of_design=design.fingerprint(),
        entered_by=by,
        entered_at=at,
        **told,
    )
    own.full_clean()
    own.save()
    return own


def with_own(design: SignDesign) -> SignDesign:
    """Return the sign that the owner took from the code in place of the table's, where there is."""
    kept = (
        OwnSign.objects.filter(
            jurisdiction=design.posting.jurisdiction, of_design=design.fingerprint()
        )
        .select_related("entered_by")
        .order_by("-pk")
        .first()
    )
    if kept is None:
        return design
    who = kept.entered_by.get_full_name() or kept.entered_by.get_username()
    source = OwnSource(who, kept.compared_on, kept.citation)
    names = ("width_in", "height_in", "background", "lettering", "parts", "back")
    told = {name: getattr(kept, name) for name in names}
    return own_design(design, told, source, b64decode(kept.drawing))


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

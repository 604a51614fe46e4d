"""Signs that stand: when each went up, by whom, when it may come down, and who takes it down."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from clients.models import Property
from treatments.models import ApplicationRecord, SignTakenDown
from treatments.models.records import ApplicationRecordQuerySet
from treatments.rulebook import posting_at
from treatments.rules.records import Posting

LOOKED_BACK = timedelta(days=60)  # no rule that was read keeps a sign longer; our own choice
CUSTOMER = "customer"


@dataclass(frozen=True, slots=True)
class StandingSign:
    """A sign at a property; `down_at` is None where no hours are known."""

    record: ApplicationRecord
    place: Property
    posted_at: datetime
    down_at: datetime | None
    posting: Posting | None

    def is_clients(self) -> bool:
        """Say whether the rule has the client take it down; else it is on the crew's list."""
        return self.posting is not None and self.posting.remover == CUSTOMER

    def may_come_down_at(self, moment: datetime) -> bool:
        """Say whether its time is over; where no hours are known that is never said."""
        return self.down_at is not None and self.down_at <= moment


def signs_standing(kept: ApplicationRecordQuerySet, now: datetime) -> list[StandingSign]:
    """Return the signs that were put up and that nobody took down, the first due first.

    kept: the records that the person may see

    Records of one property with one moment of posting share a sign, which stays the longest time.
    """
    standing = kept.current().filter(posted_at__gte=now - LOOKED_BACK, posted_at__lte=now)
    recent = standing.select_related("planting__property__client")
    down = set(SignTakenDown.objects.values_list("property", "posted_at"))
    found: dict[tuple[int, datetime], StandingSign] = {}
    # Sorted here: asked for in order, a database walks along all numbers to spare the sorting.
    for record in sorted(recent.order_by(), key=lambda each: each.number):
        place, posted_at = record.planting.property, record.posted_at
        if posted_at is None or (place.pk, posted_at) in down:
            continue
        key = (place.pk, posted_at)
        found[key] = _longer(found.get(key), record, place, posted_at)
    return sorted(found.values(), key=lambda sign: sign.down_at or now + LOOKED_BACK)


def _longer(
    sign: StandingSign | None, record: ApplicationRecord, place: Property, posted_at: datetime
) -> StandingSign:
    day = posted_at.astimezone(place.zone()).date()
    rule = posting_at(record.jurisdiction, day, production_site=record.production_site)
    ends = [end for end in (sign and sign.down_at, record.removal_at) if end]
    first = sign.record if sign else record
    return StandingSign(first, place, posted_at, max(ends, default=None), rule)


def take_down(record: ApplicationRecord, *, by: User, at: datetime) -> bool:
    """Keep that a sign was taken down; say whether that was not known yet.

    What was done is kept, though it was early.  Raise ValidationError where no sign was put up.
    """
    if record.posted_at is None:
        raise ValidationError(_("No sign was put up with this record."), code="no_sign")
    _row, is_new = SignTakenDown.objects.get_or_create(
        property=record.planting.property,
        posted_at=record.posted_at,
        defaults={"taken_down_at": at, "taken_down_by": by},
    )
    return is_new

"""Removes a client: the card loses name and ways to reach them, links end, the way in is forgotten.

What was applied stays: records hold copies of what they need, and are kept for their time.
"""

from datetime import datetime

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext_lazy as _

from clients.models import AccessWindow, Client, Neighbour, Property
from services.journaling import journal_removal
from services.models import ClientLink, DayAsked, Estimate, EstimateAnswer, Visit
from services.searching import tidy

STANDS_FOR_NAME = "Former client {}"
BLANK_CARD = dict.fromkeys(
    ("email", "phone", "street", "city", "region", "postal_code", "note"), ""
)
BLANK_WAY_IN = dict.fromkeys(("gate_code", "access_note", "minded_note"), "")


@transaction.atomic
def remove_client(client: Client, *, by: User | None, at: datetime) -> bool:
    """Make a client's card name nobody; say whether it named somebody until now.

    Raise ValidationError while a visit is still to be made there.
    """
    client = Client.objects.select_for_update().get(pk=client.pk)
    name = STANDS_FOR_NAME.format(client.pk)
    if client.name == name:
        return False
    open_visits = Visit.objects.filter(
        course__property__client=client,
        state__in=[Visit.State.NEEDS_ACTION, Visit.State.IN_PROCESS],
    )
    if open_visits.exists():
        raise ValidationError(
            _("Visits are still to be made for %(client)s: end the courses first."),
            params={"client": client.name},
            code="open_visits",
        )
    Client.objects.filter(pk=client.pk).update(
        name=name, wants_notice=False, version=F("version") + 1, **BLANK_CARD
    )
    places = Property.objects.filter(client=client)
    AccessWindow.objects.filter(property__in=places).delete()
    Neighbour.objects.filter(property__in=places).delete()
    places.update(version=F("version") + 1, **BLANK_WAY_IN)
    DayAsked.objects.filter(visit__course__property__in=places).update(words="", reply="")
    _let_estimates_go(client, at)
    ClientLink.objects.filter(client=client, revoked_at__isnull=True).update(revoked_at=at)
    journal_removal(client.pk, by=by, at=at)
    tidy()
    return True


def _let_estimates_go(client: Client, at: datetime) -> None:
    """Withdraw what was not answered, and empty the papers of all that was not accepted."""
    theirs = Estimate.objects.filter(property__client=client)
    theirs.filter(answer__isnull=True, withdrawn_at__isnull=True).update(withdrawn_at=at)
    accepted = theirs.filter(answer__answer=EstimateAnswer.Answer.ACCEPTED)
    theirs.exclude(pk__in=accepted.values("pk")).update(paper=b"", note="")

"""Takes a dispatch back: its visits are to be handed out again, save those that were begun."""

from django.contrib.auth.models import User
from django.db import transaction
from django.utils import timezone

from services.journaling import journal_dispatch
from services.models import Dispatch, Visit
from services.routes import leave_route

TAKEN_BACK = "taken back"


@transaction.atomic
def recall(dispatch: Dispatch, *, by: User | None = None) -> list[Visit]:
    """Take the visits that were not begun off a route and return them; twice takes nothing more.

    A route with nothing left on it is no dispatch any more, and its load is free again.
    """
    waiting = Visit.objects.filter(dispatch=dispatch.pk, state=Visit.State.NEEDS_ACTION)
    recalled = list(waiting.order_by("position"))
    if recalled:
        journal_dispatch(dispatch, kind=TAKEN_BACK, by=by, at=timezone.now())
    for visit in recalled:
        leave_route(visit)
    return recalled

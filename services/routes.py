"""A route that was handed out: what its legs hold, and how a visit leaves it.

The legs of a dispatch are its travel, wait, work, rinse, lunch and refill in order.  A leg of work
names its visit, the spray in gallons, the signs, and what is taken of which lot; one of rinsing the
sprayer names the visit after which it is made, and the water in gallons.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping
from decimal import Decimal

from django.db import transaction
from django.db.models import F

from services.models import Dispatch, LoadLine, Visit

OFF_ROUTE = {"dispatch": None, "position": None, "arrives_at": None, "leaves_at": None}


@transaction.atomic
def leave_route(visit: Visit) -> None:
    """Take a visit off the route of its crew, with its part of the load.

    The hours of the others stay; where it was, the crew waits.  An empty route is no dispatch.
    """
    dispatch = Dispatch.objects.select_for_update().filter(visits=visit.pk).first()
    if dispatch is None:
        return
    Visit.objects.filter(pk=visit.pk).update(**OFF_ROUTE, version=F("version") + 1)
    for name, value in OFF_ROUTE.items():
        setattr(visit, name, value)
    if not dispatch.visits.exists():
        dispatch.delete()
        return
    dispatch.legs = [
        _waiting(leg) if visit.pk in (leg.get("visit"), leg.get("after")) else leg
        for leg in dispatch.legs
    ]
    dispatch.water_gallons, dispatch.signs = water_of(dispatch.legs), signs_of(dispatch.legs)
    dispatch.save(update_fields=["legs", "water_gallons", "signs"])
    keep_load(dispatch)


def keep_load(dispatch: Dispatch) -> None:
    """Write the load that the legs of a dispatch ask for; lines that stay keep their id."""
    wanted = load_of(dispatch.legs)
    for line in dispatch.load.all():
        amount = wanted.pop(line.lot_id, None)
        if amount is None:
            line.delete()
        elif amount != line.amount:
            LoadLine.objects.filter(pk=line.pk).update(amount=amount)
    LoadLine.objects.bulk_create(
        LoadLine(dispatch=dispatch, lot_id=lot, amount=amount) for lot, amount in wanted.items()
    )


def load_of(legs: Iterable[Mapping]) -> dict[int, Decimal]:
    """Return what legs take of each lot, in the unit of its product."""
    load: dict[int, Decimal] = defaultdict(Decimal)
    for leg in legs:
        for take in leg.get("takes", []):
            load[take["lot"]] += Decimal(take["amount"])
    return dict(load)


def water_of(legs: Iterable[Mapping]) -> Decimal:
    """Return the spray of legs and the water of their rinses, in gallons."""
    return sum((Decimal(leg.get("gallons", 0)) for leg in legs), Decimal(0))


def signs_of(legs: Iterable[Mapping]) -> int:
    """Return the signs that legs put up."""
    return sum(leg.get("signs", 0) for leg in legs)


def _waiting(leg: Mapping) -> dict:
    return {"kind": "wait", "from": leg["from"], "until": leg["until"]}

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
from django.utils import timezone

from clients.models import Property
from services.models import Dispatch, LoadLine, Visit, Yard
from services.rules.legs import CALLS, leaves_and_returns, legs_without
from services.travelling import Travelled, point_of
from treatments.models import Lot

OFF_ROUTE = {"dispatch": None, "position": None, "arrives_at": None, "leaves_at": None}


@transaction.atomic
def leave_route(visit: Visit) -> None:
    """Take a visit off the route of its crew, with its part of the load.

    The hours of the others stay, their numbers close up, and the crew drives straight from the
    stop before to the one after.  An empty route is no dispatch.
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
    _tell_anew(dispatch, visit)
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


def _tell_anew(dispatch: Dispatch, gone: Visit) -> None:
    """Write the legs, hours, ways and numbers of a route that a visit has left."""
    if not any(leg.get("visit") == gone.pk for leg in dispatch.legs):
        return
    places = _places(dispatch)
    factor = {point_of(dispatch.crew.yard): float(dispatch.travel.get("factor", 1))}
    travel = Travelled(factor, timezone.now(), may_ask=False)

    def way(start: int | None, end: int | None) -> tuple[int, int]:
        matrix = travel([point_of(places[start]), point_of(places[end])])
        return matrix.seconds[0][1], matrix.metres[0][1]

    legs = dispatch.legs = legs_without(dispatch.legs, gone.pk, _mixes(dispatch.legs), way)
    dispatch.leaves_yard_at, dispatch.returns_at = leaves_and_returns(legs)
    dispatch.water_gallons, dispatch.signs = water_of(legs), signs_of(legs)
    passed = [places[leg.get("visit")] for leg in legs if leg["kind"] in CALLS]
    untold = travel.untold([places[None], *passed, places[None]])
    dispatch.travel = {**dispatch.travel, "untold": untold}
    dispatch.save()
    _number(dispatch)


def _places(dispatch: Dispatch) -> dict[int | None, Property | Yard]:
    """Return the places of a route by the ids of the visits, the yard being that of None."""
    ids = [leg["visit"] for leg in dispatch.legs if leg.get("visit")]
    stops = Visit.objects.filter(pk__in=ids).select_related("course__property")
    return {None: dispatch.crew.yard, **{visit.pk: visit.course.property for visit in stops}}


def _mixes(legs: Iterable[Mapping]) -> dict[int, frozenset[int]]:
    """Return the products that are sprayed at each stop, by the id of its visit."""
    lots = {
        leg["visit"]: [take["lot"] for take in leg["takes"]] for leg in legs if leg.get("takes")
    }
    products = dict(
        Lot.objects.values_list("pk", "product").filter(
            pk__in={lot for taken in lots.values() for lot in taken}
        )
    )
    return {pk: frozenset(products[lot] for lot in taken) for pk, taken in lots.items()}


def _number(dispatch: Dispatch) -> None:
    """Number the visits of a route from 1 in the order of its legs."""
    stops = [leg["visit"] for leg in dispatch.legs if leg.get("visit")]
    for position, pk in enumerate(stops, start=1):
        misnumbered = Visit.objects.filter(pk=pk, dispatch=dispatch).exclude(position=position)
        misnumbered.update(position=position, version=F("version") + 1)

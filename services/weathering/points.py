"""The places of which the weather service is asked: yards, and where a visit is due soon."""

from datetime import datetime, timedelta

from django.db.models import Q, QuerySet

from clients.models import Property
from services.models import ForecastCell, ForecastPoint, Visit, Yard
from services.rules.grid_places import Corner, corner_of

AHEAD = timedelta(days=7)  # what the service tells


def note_points(now: datetime) -> None:
    """Write down the places to be asked about that are not yet."""
    known = set(ForecastPoint.objects.values_list("latitude", "longitude"))
    wanted = corners(Yard.objects.all()) | corners(visited_soon(now))
    ForecastPoint.objects.bulk_create(
        (
            ForecastPoint(latitude=each[0], longitude=each[1], not_before=now)
            for each in sorted(wanted - known)
        ),
        ignore_conflicts=True,
    )


def forget_points() -> None:
    """Forget the places where no yard and no property is any more, and the cells left empty."""
    known = ForecastPoint.objects.values_list("pk", "latitude", "longitude")
    if not known:
        return
    kept = corners(Yard.objects.all()) | corners(Property.objects.all())
    gone = [pk for pk, *corner in known if tuple(corner) not in kept]
    ForecastPoint.objects.filter(pk__in=gone).delete()
    ForecastCell.objects.filter(points__isnull=True).delete()


def corners(places) -> set[Corner]:
    """Return where yards or properties are, as the weather service is asked."""
    known = places.filter(latitude__isnull=False, longitude__isnull=False)
    return {corner_of(*point) for point in known.values_list("latitude", "longitude")}


def visited_soon(now: datetime) -> QuerySet[Property]:
    """Return the properties where a visit waits that is due within a week, or late."""
    until = (now + AHEAD).date()
    soon = Q(planned__lte=until) | Q(dispatch__day__lte=until)
    waiting = Visit.objects.filter(soon, state=Visit.State.NEEDS_ACTION)
    return Property.objects.filter(pk__in=waiting.values("course__property"))

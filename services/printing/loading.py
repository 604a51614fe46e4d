"""Loads visits and dispatches with all that paper and the page on the spot show of them."""

from collections.abc import Iterable

from django.db.models import Prefetch

from services.dispatching.store import note_what_is_aboard
from services.models import Dispatch, LoadLine, Visit
from treatments.models import Calibration, Sprayer

SHOWN_OF_A_VISIT = (
    "course__property__access_windows",
    "course__property__neighbours",
    "course__plantings__water_tests",
    *(
        f"rotation_week__{product}__{label}"
        for product in ("product", "adjuvant")
        for label in ("contents__ingredient", "rates__pest")
    ),
)
SHOWN_OF_A_CREW = (
    Prefetch(
        "crew__truck__sprayers",
        Sprayer.objects.filter(retired=False).prefetch_related(
            Prefetch("calibrations", Calibration.objects.select_related("person"))
        ),
    ),
    "crew__technicians__user__applicator__certificates",
    "crew__technicians__user__applicator__supervisor__certificates",
)


def visits_for_paper(visits):
    """Load visits with what their pages show, whatever their number in the same queries."""
    crew = tuple(
        Prefetch(f"dispatch__{each.prefetch_through}", each.queryset)
        if isinstance(each, Prefetch)
        else f"dispatch__{each}"
        for each in SHOWN_OF_A_CREW
    )
    return visits.with_all_that_is_shown().prefetch_related(
        *SHOWN_OF_A_VISIT, "dispatch__load__lot__product", "dispatch__crew__yard", *crew
    )


def dispatches_for_paper(dispatches: Iterable[Dispatch]) -> list[Dispatch]:
    """Return dispatches with crews, loads and visits in their order, loaded in fixed queries."""
    wanted = [each.pk for each in dispatches]
    visits = Visit.objects.with_all_that_is_shown().prefetch_related(*SHOWN_OF_A_VISIT)
    found = Dispatch.objects.filter(pk__in=wanted).select_related("crew__yard")
    load = LoadLine.objects.select_related("lot__product")
    loaded = list(
        found.prefetch_related(
            Prefetch("visits", visits.order_by("position", "pk")),
            Prefetch("load", load),
            *SHOWN_OF_A_CREW,
        ).order_by("day", "crew__name")
    )
    note_what_is_aboard(loaded)
    return loaded

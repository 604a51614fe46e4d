"""When labels were and will be used on plantings, in whichever course: by record, file and plan."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.db.models import Q

from clients.loaded import all_of
from services.models import Course, Visit
from treatments.models import ApplicationRecord, EarlierApplication, Product

LABEL = ("product__epa_registration_number", "product__name")


@dataclass(frozen=True, slots=True)
class Use:
    """A day on which a label was or will be used on a planting.

    visit: the id of the visit that will; None where it was
    has_crew: whether a crew was sent for it
    """

    label: str
    day: date
    visit: int | None = None
    course: int | None = None
    has_crew: bool = False

    def comes_before(self, visit: Visit, day: date) -> bool:
        """Say whether a visit that would be made on a day has to give way to this."""
        if self.visit is None:
            return True
        if self.has_crew != (visit.dispatch_id is not None):
            return self.has_crew
        return (self.day, self.visit) < (day, visit.pk)


def label_of(product: Product) -> str:
    """Return what tells one label from another: the registration number, or the name."""
    return product.epa_registration_number or product.name


def beds_of_courses(plantings: Iterable[int]) -> Mapping[int, list[int]]:
    """Return which of some plantings courses are on, by the id of the course."""
    found: dict[int, list[int]] = defaultdict(list)
    pairs = Course.plantings.through.objects.filter(planting__in=plantings)
    for course, bed in pairs.values_list("course", "planting"):
        found[course].append(bed)
    return found


def uses_around(
    visits: Sequence[Visit], today: date, day: date | None = None
) -> Mapping[int, list[Use]]:
    """Return the uses, by planting, that lie so near to visits that a label may forbid them.

    day: on which the visits are to be made, or None for the planned day of each
    """
    sprays = [visit.rotation_week.product for visit in visits if visit.rotation_week.product]
    longest = max((product.minimum_interval_days or 0 for product in sprays), default=0)
    if not longest:
        return {}
    days = [day] if day else [visit.planned for visit in visits]
    span = (min(days) - timedelta(longest), max(days) + timedelta(longest))
    plantings = {bed.pk for visit in visits for bed in all_of(visit.course, "plantings")}
    own_day = {visit.pk: day for visit in visits} if day else {}
    found: dict[int, list[Use]] = defaultdict(list)
    for planting, use in [
        *_recorded(plantings, span),
        *_taken_over(plantings, span),
        *_planned(plantings, span, today, own_day),
    ]:
        found[planting].append(use)
    return found


def _recorded(plantings: Iterable[int], span: tuple[date, date]) -> Iterable[tuple[int, Use]]:
    """Yield what records show; a day more on either side, for the place's own clock."""
    since = datetime.combine(span[0] - timedelta(days=1), time(), UTC)
    until = datetime.combine(span[1] + timedelta(days=2), time(), UTC)
    records = ApplicationRecord.objects.current().filter(
        planting__in=plantings, done_at__gte=since, done_at__lt=until
    )
    rows = records.order_by().values_list("planting", "done_at", "time_zone", *LABEL)
    for bed, done_at, zone, number, name in rows:
        yield bed, Use(number or name, done_at.astimezone(ZoneInfo(zone)).date())


def _taken_over(plantings: Iterable[int], span: tuple[date, date]) -> Iterable[tuple[int, Use]]:
    earlier = EarlierApplication.objects.filter(
        planting__in=plantings, product__isnull=False, applied_on__range=span
    )
    rows = earlier.order_by().values_list("planting", "applied_on", *LABEL)
    for bed, applied_on, number, name in rows:
        yield bed, Use(number or name, applied_on)


def _planned(
    plantings: Iterable[int], span: tuple[date, date], today: date, own_day: Mapping[int, date]
) -> Iterable[tuple[int, Use]]:
    """Yield what open visits will do; one that is held, or late and without a crew, waits."""
    is_near = Q(planned__range=span) | Q(pk__in=own_day)
    beds = beds_of_courses(plantings)
    waiting = Visit.objects.open().exclude(pk__in=Visit.objects.held().values("pk"))
    rows = waiting.filter(is_near, course__in=list(beds), rotation_week__product__isnull=False)
    label = [f"rotation_week__{name}" for name in LABEL]
    for pk, course, planned, dispatch, number, name in rows.order_by().values_list(
        "pk", "course", "planned", "dispatch", *label
    ):
        day = own_day.get(pk, planned)
        if day >= today or dispatch is not None:
            for bed in beds[course]:
                yield bed, Use(number or name, day, pk, course, dispatch is not None)

"""What residues and sprays mean for natural enemies that visits release, by records and by plan."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from clients.loaded import all_of
from services.courses import local_day
from services.dispatching.labels import Labels
from services.dispatching.uses import beds_of_courses
from services.models import Visit
from treatments.checking import applied_on
from treatments.models import RotationWeek
from treatments.rules.beneficials import (
    GUARDED_DAYS,
    check_after_release,
    check_release,
    predators_against,
)
from treatments.rules.facts import PastApplication
from treatments.rules.findings import Finding, Marked

RELEASE = RotationWeek.Step.RELEASE


@dataclass(frozen=True, slots=True)
class Releases:
    """What was read once for visits that release, and for sprays where somebody released.

    applied: of the year before, by planting, where a visit releases
    made: the days of releases with the predators, by planting, where a visit sprays
    labels: of the products of the visits
    """

    applied: Mapping[int, Sequence[PastApplication]]
    made: Mapping[int, Sequence[tuple[date, Marked]]]
    labels: Labels

    def against(self, visit: Visit, day: date) -> list[Finding]:
        """Return what stands against a release, or against a spray after one, on a day."""
        if visit.rotation_week.step == RELEASE:
            found = self._residues(visit, day)
        else:
            found = self._spoiled(visit, day)
        once = {finding.say(): finding.in_week(visit.week) for finding in found}
        return list(once.values())

    def _residues(self, visit: Visit, day: date) -> list[Finding]:
        predators = predators_against(visit.course.rotation.pest.named())
        return [
            finding
            for bed in all_of(visit.course, "plantings")
            for finding in check_release(predators, day, self.applied.get(bed.pk, ()))
        ]

    def _spoiled(self, visit: Visit, day: date) -> list[Finding]:
        made = [
            each for bed in all_of(visit.course, "plantings") for each in self.made.get(bed.pk, ())
        ]
        if visit.rotation_week.product_id is None or not made:
            return []
        spray = PastApplication(day, self.labels.of(visit))
        return [
            finding
            for released_on, predators in made
            for finding in check_after_release(predators, released_on, [spray])
        ]


def releases_around(visits: Sequence[Visit], day: date | None, labels: Labels) -> Releases:
    """Return what was applied where visits release, and what was released where they spray.

    day: on which the visits are to be made, or None for the planned day of each
    """
    releasing = [visit for visit in visits if visit.rotation_week.step == RELEASE]
    spraying = [visit for visit in visits if visit.rotation_week.product_id is not None]
    return Releases(
        applied=_applied(releasing, day) if releasing else {},
        made=_made(spraying, day) if spraying else {},
        labels=labels,
    )


def _applied(visits: Sequence[Visit], day: date | None) -> Mapping[int, Sequence[PastApplication]]:
    beds = {bed.pk: bed for visit in visits for bed in all_of(visit.course, "plantings")}
    for visit in visits:
        for bed in all_of(visit.course, "plantings"):
            beds[bed.pk].property = visit.course.property
    last = day or max(visit.planned for visit in visits)
    return applied_on(list(beds.values()), last + timedelta(days=1))


def _made(visits: Sequence[Visit], day: date | None) -> Mapping[int, Sequence[tuple[date, Marked]]]:
    # Few rotations release: their weeks first, so that nobody reads all that was made.
    weeks = RotationWeek.objects.filter(step=RELEASE).order_by()
    releasing = list(weeks.values_list("pk", flat=True))
    if not releasing:
        return {}
    beds = {bed.pk for visit in visits for bed in all_of(visit.course, "plantings")}
    first = day or min(visit.planned for visit in visits)
    # A day more, for the place's own clock.
    since = datetime.combine(first - timedelta(days=GUARDED_DAYS + 1), time(), UTC)
    released = Visit.objects.filter(
        state=Visit.State.COMPLETED,
        rotation_week__in=releasing,
        completed_at__gte=since,
        course__in=list(beds_of_courses(beds)),
    )
    found: dict[int, list[tuple[date, Marked]]] = defaultdict(list)
    loaded = released.select_related("course__property", "course__rotation__pest")
    for visit in loaded.prefetch_related("course__plantings"):
        predators = predators_against(visit.course.rotation.pest.named())
        for bed in all_of(visit.course, "plantings"):
            found[bed.pk].append((local_day(visit), predators))
    return found

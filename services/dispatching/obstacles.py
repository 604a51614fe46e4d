"""What stands in the way of visits, said before anybody drives there."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, time
from functools import cache, partial
from typing import Any
from zoneinfo import ZoneInfo

from django.utils import timezone

from clients.loaded import all_of
from services.dispatching import findings as said
from services.dispatching.crews import crews_at_work
from services.dispatching.labels import Labels
from services.dispatching.lapsed import against_its_crew, smallest_sprayer
from services.dispatching.reading import visits_to_plan
from services.dispatching.releases import Releases, releases_around
from services.dispatching.store import free_stock
from services.dispatching.takes import Takes, takes_by_visit
from services.dispatching.uses import Use, label_of, uses_around
from services.mixing import is_any_calibrated
from services.models import Crew, Visit
from services.rules.loading import load_truck
from services.telling.notices import missed_notices, people_to_tell, told_when
from services.telling.notices.checking import not_accepted
from services.telling.notices.people import MIDNIGHT, Reader
from services.telling.notices.told import Moments, accepted, told_of_other_days
from treatments.gathering import certificate_facts
from treatments.models import Certificate
from treatments.rules.certificates import (
    check_certificates,
    check_limited,
    has_limits,
)
from treatments.rules.facts import BloomRule, LotFacts
from treatments.rules.findings import Finding, Severity
from treatments.rules.mixing import CalibrationMissing
from treatments.rules.records import new_date_rule


@dataclass(frozen=True, slots=True)
class Known:
    """What was read once for all the visits.

    today: the day from which a visit is late
    now: the moment at which all of this was read
    crews: those that may be sent
    takes: what each visit takes whichever crew goes, by the id of the visit
    open_weeks: the weeks of the open visits and their planned days, by the id of the course
    whom: says who is to be told of a visit on a day
    shift: when the first crew begins its day, before which nobody starts
    given: when notices reached somebody, by their keys
    told_days: of which days clients were told, by the id of the visit
    accepted: the keys of the notices whose day was accepted
    uses: when labels were and will be used near the days of the visits, by planting
    releases: what was applied where natural enemies go out, and where they did
    labels: of the products of the visits
    is_any_calibrated: whether one of the crews has a calibrated sprayer on a day
    """

    today: date
    now: datetime
    crews: tuple[Crew, ...]
    takes: Mapping[int, Takes]
    certificates: tuple[Certificate, ...]
    open_weeks: Mapping[int, Sequence[tuple[int, date]]]
    whom: Callable[[Visit, date], list[Reader]]
    shift: time
    given: Mapping[str, Moments]
    told_days: Mapping[int, frozenset[date]]
    accepted: frozenset[str]
    uses: Mapping[int, Sequence[Use]]
    releases: Releases
    labels: Labels
    is_any_calibrated: Callable[[date], bool]

    def moment_at(self, zone: ZoneInfo) -> datetime:
        """Return the moment from which notices can still be given: now, or the day's beginning."""
        if self.now.astimezone(zone).date() == self.today:
            return self.now
        return datetime.combine(self.today, time(), zone)


Look = Callable[[Visit, date, Known], list[Finding]]


def what_stands_in_the_way(
    visits: Iterable[Visit], today: date, day: date | None = None
) -> dict[int, list[Finding]]:
    """Return what stands in the way of each visit, by its id, in a fixed number of queries.

    day: on which the visits are to be made, for those that are not on the day they are planned for
    """
    return what_is_said_of(visits_to_plan(visit.pk for visit in visits), today, day)


def what_is_said_of(
    loaded: Sequence[Visit], today: date, day: date | None = None
) -> dict[int, list[Finding]]:
    """Return what stands in the way of visits that `visits_to_plan` loaded, the first served first.

    day: as for `what_stands_in_the_way`
    """
    known = what_is_known(loaded, today, crews_at_work(), day)
    lots = free_stock(today, products_of(known.takes.values())).lots
    return said_by(known, loaded, lots, day)


def said_by(
    known: Known, loaded: Sequence[Visit], lots: Sequence[LotFacts], day: date | None = None
) -> dict[int, list[Finding]]:
    """Return what stands in the way of the visits of which this was read.

    lots: what is free of all that the visits take
    """
    unloaded = [visit for visit in loaded if visit.dispatch_id is None and visit.is_open()]
    short = shortages(unloaded, known.takes, lots, day)
    return {
        visit.pk: _of_route_or_day(visit, day, known) + short.get(visit.pk, []) for visit in loaded
    }


def obstacles_of(
    visit: Visit, day: date, known: Known, looks: Sequence[Look] | None = None
) -> list[Finding]:
    """Return what stands in the way of a visit on a day, the store left aside.

    looks: the checks to make; without them all that counts before a crew is known
    """
    if not visit.is_open():
        return []
    return [finding for find in looks or OBSTACLES for finding in find(visit, day, known)]


def _of_route_or_day(visit: Visit, day: date | None, known: Known) -> list[Finding]:
    """Return what stands in the way; of a visit on a route its crew's certificates are asked."""
    route = visit.dispatch
    if route is not None and day in (None, route.day):
        return obstacles_of(visit, visit.planned, known, ON_A_ROUTE)
    return obstacles_of(visit, day or visit.planned, known)


def what_is_known(
    visits: Sequence[Visit], today: date, crews: Iterable[Crew], day: date | None = None
) -> Known:
    """Return what the checks need beside the visits themselves.

    day: on which the visits are to be made, or None for the planned day of each visit
    """
    crews = tuple(crews)
    labels = Labels(visits)
    whom = cache(people_to_tell)
    return Known(
        today=today,
        now=timezone.now(),
        crews=crews,
        takes=takes_by_visit(visits, crews, today, day),
        certificates=tuple(Certificate.objects.select_related("applicator")),
        open_weeks=_open_weeks(visits),
        whom=whom,
        shift=min((crew.shift_starts for crew in crews), default=MIDNIGHT),
        given=told_when(visits, day, whom),
        uses=uses_around(visits, today, day),
        releases=releases_around(visits, day, labels),
        labels=labels,
        is_any_calibrated=cache(partial(is_any_calibrated, crews)),
        **_agreed(visits),
    )


def _open_weeks(visits: Iterable[Visit]) -> Mapping[int, Sequence[tuple[int, date]]]:
    found: dict[int, list[tuple[int, date]]] = defaultdict(list)
    waiting = Visit.objects.open().filter(course__in={visit.course_id for visit in visits})
    for course, week, planned in waiting.order_by().values_list(
        "course", "rotation_week__week", "planned"
    ):
        found[course].append((week, planned))
    return found


def _agreed(visits: Sequence[Visit]) -> Any:
    """Return which days were told and accepted, read only where a rule asks for it."""
    asked = [each for each in visits if new_date_rule(each.course.property.jurisdiction)]
    if not asked:
        return {"told_days": {}, "accepted": frozenset()}
    return {"told_days": told_of_other_days(asked), "accepted": accepted(asked)}


def shortages(
    visits: Iterable[Visit],
    takes: Mapping[int, Takes],
    lots: Sequence[LotFacts],
    day: date | Mapping[int, date] | None = None,
) -> dict[int, list[Finding]]:
    """Return what the store lacks for visits, the first served first; what suffices is left out.

    day: on which the lots must be good, of all or by the id of each, or None for the planned days
    """
    found: dict[int, list[Finding]] = {}
    for visit in visits:
        stop = takes[visit.pk].as_stop(said.shown(visit))
        good_on = day[visit.pk] if isinstance(day, Mapping) else day or visit.planned
        load, left = load_truck(said.STORE, [stop], lots, good_on)
        if load.shortages:
            found[visit.pk] = [said.refused(short) for short in load.shortages]
        else:
            lots = left
    return found


def products_of(takes: Iterable[Takes]) -> set[str]:
    """Return the names of all products that visits take."""
    return {need.product for each in takes for need in each.products}


def _held(visit: Visit, day: date, known: Known) -> list[Finding]:
    hold = visit.open_hold()
    return [said.held(visit, hold)] if hold else []


def _days(visit: Visit, day: date, known: Known) -> list[Finding]:
    if day < visit.earliest:
        return [said.too_early(visit, day)]
    return [said.late(visit, known.today)] if visit.is_late_on(known.today) else []


def _interval(visit: Visit, day: date, known: Known) -> list[Finding]:
    """Return that the label asks for more days since or until another use on the same planting.

    What the visit's own course plans is kept apart by its days.
    """
    product = visit.rotation_week.product
    limit = product.minimum_interval_days if product else None
    if product is None or limit is None or day < visit.earliest:
        return []
    near = [
        use
        for bed in all_of(visit.course, "plantings")
        for use in known.uses.get(bed.pk, ())
        if use.label == label_of(product)
        and use.course != visit.course_id
        and abs((use.day - day).days) < limit
        and use.comes_before(visit, day)
    ]
    if not near:
        return []
    nearest = min(near, key=lambda use: abs((use.day - day).days))
    return [said.too_soon(visit, product, day, nearest.day, limit)]


def _releases(visit: Visit, day: date, known: Known) -> list[Finding]:
    return known.releases.against(visit, day)


def _order(visit: Visit, day: date, known: Known) -> list[Finding]:
    earlier = [each for each in known.open_weeks.get(visit.course_id, ()) if each[0] < visit.week]
    return [said.previous_not_done(visit, *max(earlier), day)] if earlier else []


def _bloom(visit: Visit, day: date, known: Known) -> list[Finding]:
    product = visit.rotation_week.product
    forbids = (BloomRule.NOT_IN_BLOOM, BloomRule.UNTIL_PETALS_FALL)
    if product is None or product.bloom_rule not in forbids:
        return []
    return [
        said.in_bloom(visit, planting, product)
        for planting in all_of(visit.course, "plantings")
        if planting.blooms_on(day)
    ]


def _certificate(visit: Visit, day: date, known: Known) -> list[Finding]:
    product, place = visit.rotation_week.product, visit.course.property
    if product is None or not product.certificate_category:
        return []
    category = product.certificate_category.casefold()
    held = [
        each
        for each in known.certificates
        if each.jurisdiction == place.jurisdiction
        and category in {name.casefold() for name in each.categories}
        and each.holds_on(day)
        and not each.own_property_only
        and not (each.bars_restricted_use and product.restricted_use)
    ]
    if not held:
        return [said.no_certificate(visit, product, day), *_why_none_holds(visit, day, known)]
    is_only_limited = has_limits(place.jurisdiction) and all(each.is_limited for each in held)
    return _beyond_limits(visit, held[0], known) if is_only_limited else []


def _certificate_of_crew(visit: Visit, day: date, known: Known) -> list[Finding]:
    """Return what speaks against the crew that has the visit; one that was retired is not known."""
    route, product = visit.route(), visit.rotation_week.product
    crew = next((each for each in known.crews if each.pk == route.crew_id), None)
    if crew is None:
        return _certificate(visit, day, known)
    if product is None or not product.certificate_category:
        return []
    return against_its_crew(visit, crew, route.day, known.labels.of(visit))


def _why_none_holds(visit: Visit, day: date, known: Known) -> list[Finding]:
    """Return what stands against the certificate that comes nearest, where there is one."""
    found = check_certificates(
        [certificate_facts(each) for each in known.certificates],
        known.labels.of(visit),
        jurisdiction=visit.course.property.jurisdiction,
        day=day,
    )
    refused = [each for each in found if each.code != "no-certificate"]
    return [replace(each, week=visit.week) for each in refused if each.severity is Severity.REFUSAL]


def _beyond_limits(visit: Visit, limited: Certificate, known: Known) -> list[Finding]:
    """Return what a limited certificate does not allow at a visit, the smallest sprayer taken."""
    plantings = all_of(visit.course, "plantings")
    sprayer = smallest_sprayer(visit, known.crews, limited.jurisdiction)
    found = {
        finding.code: replace(finding, week=visit.week)
        for group in sorted({planting.plant_group for planting in plantings})
        for finding in check_limited(
            certificate_facts(limited), known.labels.of(visit), plant_group=group, sprayer=sprayer
        )
    }
    return list(found.values())


def _mix(visit: Visit, day: date, known: Known) -> list[Finding]:
    takes = known.takes[visit.pk]
    if isinstance(takes.problem, CalibrationMissing):
        return [said.amounts_unknown(visit)]
    if takes.problem is not None:
        return [said.not_mixable(visit, takes.problem)]
    if takes.refusals:
        return [replace(each, week=visit.week) for each in takes.refusals]
    if takes.gallons and not known.is_any_calibrated(max(day, known.today)):
        return [said.not_calibrated(visit)]
    return []


def _notices(visit: Visit, day: date, known: Known) -> list[Finding]:
    """Return who was not told; a visit whose day has passed is planned anew before anybody is."""
    if day < known.today:
        return []
    readers, given = known.whom(visit, day), known.given
    now = known.moment_at(visit.course.property.zone())
    return [
        *missed_notices(visit, readers, given, day=day, now=now, shift=known.shift),
        *not_accepted(visit, day, known.told_days.get(visit.pk, frozenset()), known.accepted),
    ]


OBSTACLES: tuple[Look, ...] = (
    _held,
    _days,
    _interval,
    _releases,
    _order,
    _bloom,
    _certificate,
    _mix,
    _notices,
)
ON_A_ROUTE = tuple(_certificate_of_crew if each is _certificate else each for each in OBSTACLES)

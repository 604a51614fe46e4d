"""The plan as a PyVRP model: each stop once for each of its windows, each crew's day a vehicle.

What a stop needs and a crew has is a load of its own kind: a stop asks for one of it, a crew that
has it holds plenty, a crew without it none.  A place is one for each mix that is sprayed there, and
the way from one mix to another takes as long as the rinse between them; after a stop at which
nothing is sprayed, and at the yard, the model has forgotten what the sprayer held.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pyvrp
from numpy.typing import NDArray
from pyvrp.IteratedLocalSearch import IteratedLocalSearchParams
from pyvrp.search import NeighbourhoodParams, PerturbationParams
from pyvrp.stop import MaxIterations, MaxRuntime, MultipleCriteria, StoppingCriterion

from services.rules.plans import DAY, CrewShift, HaltKind, Stop, stop_units, tank_units
from services.rules.routing.copies import Copy, Effort, workable_copies
from services.rules.routing.greedy import Tours
from services.rules.routing.ground import Ground
from services.rules.routing.timetable import REFILL, Call, drawn, walk
from services.rules.travel import Point

PLENTY = 1_000_000
# For some hundred rounds the engine's own choice, made for thousands, is too wide; measured.
BRISK = pyvrp.SolveParams(
    ils=IteratedLocalSearchParams(history_length=50),
    neighbourhood=NeighbourhoodParams(num_neighbours=30),
    perturbation=PerturbationParams(min_perturbations=1, max_perturbations=10),
)


def improved(
    stops: Sequence[Stop],
    shifts: Sequence[CrewShift],
    ground: Ground,
    start: Tours,
    effort: Effort,
) -> dict[str, tuple[Call, ...]]:
    """Return better tours than those to start from.  Lunch is not in the model."""
    copies = workable_copies(stops, shifts, ground)
    if not copies:
        return {shift.key: () for shift in shifts}
    model = Model(copies, shifts, ground)
    result = pyvrp.solve(
        model.data,
        _until(effort),
        seed=effort.seed,
        collect_stats=False,
        params=BRISK if effort.is_brisk else pyvrp.SolveParams(),
        initial_solution=model.solution_of(start),
    )
    return model.tours_of(result.best)


def _until(effort: Effort) -> StoppingCriterion:
    """Return when the search is over."""
    over = MaxIterations(effort.iterations)
    if effort.seconds is None:
        return over
    return MultipleCriteria([over, MaxRuntime(effort.seconds)])


@dataclass(frozen=True, slots=True)
class _Site:
    """A point with the mix that is sprayed there, and the seconds of the rinse after it."""

    point: Point
    mix: str = ""
    rinse_seconds: int = 0


def _site_of(stop: Stop) -> _Site:
    return _Site(stop.point, stop.mix, stop.rinse_seconds if stop.mix else 0)


def _sites(copies: Iterable[Copy], shifts: Iterable[CrewShift]) -> dict[_Site, int]:
    """Return the yards and the places of the stops, each with its number."""
    yards = [_Site(shift.yard) for shift in shifts]
    found = dict.fromkeys([*yards, *(_site_of(copy.stop) for copy in copies)])
    return {site: number for number, site in enumerate(found)}


class Model:
    """The data of the search, and the way between tours and the search's solutions."""

    def __init__(self, copies: Sequence[Copy], shifts: Sequence[CrewShift], ground: Ground) -> None:
        self.copies = copies
        self.ground = ground
        self.needs = _telling_needs(copies, shifts)
        self.sites = _sites(copies, shifts)
        self.depots, self.depot_of = self._depots(shifts)
        self.types = self._vehicle_types(shifts)
        self.data = self._data()

    def tours_of(self, solution: pyvrp.Solution) -> dict[str, tuple[Call, ...]]:
        """Return the calls of each shift, by its key."""
        waiting = [list(shifts) for shifts, _ in self.types]
        tours: dict[str, tuple[Call, ...]] = {
            shift.key: () for shifts, _ in self.types for shift in shifts
        }
        for route in solution.routes():
            shift = waiting[route.vehicle_type()].pop(0)
            tours[shift.key] = tuple(
                self.copies[activity.idx].stop if activity.is_client() else REFILL
                for activity in list(route)[1:-1]
            )
        return tours

    def solution_of(self, tours: Tours) -> pyvrp.Solution:
        """Return tours as the search keeps them."""
        routes = [
            pyvrp.Route(self.data, self._activities(shift, tours[shift.key]), place)
            for place, (shifts, _) in enumerate(self.types)
            for shift in shifts
            if tours[shift.key]
        ]
        return pyvrp.Solution(self.data, routes)

    def _activities(self, shift: CrewShift, calls: Sequence[Call]) -> list[pyvrp.Activity]:
        route = walk(shift, calls, self.ground)
        halts = [h for h in route.halts if h.kind is not HaltKind.RINSE]  # type: ignore[union-attr]  # tours fit
        reload = self.depot_of[shift.yard, shift.refill_seconds]
        return [
            pyvrp.Activity(pyvrp.ActivityType.DEPOT, reload)
            if call is REFILL
            else pyvrp.Activity(pyvrp.ActivityType.CLIENT, self._copy_at(call, halt.starts))
            for call, halt in zip(calls, halts, strict=True)
        ]

    def _copy_at(self, stop: Stop, starts: int) -> int:
        return next(
            place
            for place, copy in enumerate(self.copies)
            if copy.stop.key == stop.key and copy.window[0] <= starts <= copy.window[1]
        )

    def _data(self) -> pyvrp.ProblemData:
        seconds, with_rinses = self._matrices()
        clients, groups = self._clients()
        return pyvrp.ProblemData(
            [pyvrp.Location(site.point.longitude, site.point.latitude) for site in self.sites],
            clients,
            self.depots,
            [vehicle_type for _, vehicle_type in self.types],
            # The stubs name the matrix by its element, the library takes arrays.
            [seconds],  # type: ignore[list-item]
            [with_rinses],  # type: ignore[list-item]
            groups,
        )

    def _matrices(self) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
        """Return the driving between the sites, and the same with the rinses between mixes."""
        places = [self.ground.index[site.point] for site in self.sites]
        seconds = np.array(self.ground.matrix.seconds, dtype=np.int64)[np.ix_(places, places)]
        mixes = np.array([site.mix for site in self.sites])
        rinses = np.array([site.rinse_seconds for site in self.sites], dtype=np.int64)
        sprays = mixes != ""
        differ = np.outer(sprays, sprays) & (mixes[:, None] != mixes[None, :])
        return seconds, seconds + differ * rinses[:, None]

    def _clients(self) -> tuple[list[pyvrp.Client], list[pyvrp.ClientGroup]]:
        places: dict[str, list[int]] = {}
        for place, copy in enumerate(self.copies):
            places.setdefault(copy.stop.key, []).append(place)
        shared = [group for group in places.values() if len(group) > 1]
        group_of = {place: number for number, group in enumerate(shared) for place in group}
        clients = [self._client(copy, group_of.get(at)) for at, copy in enumerate(self.copies)]
        return clients, [pyvrp.ClientGroup(group, required=False) for group in shared]

    def _client(self, copy: Copy, group: int | None) -> pyvrp.Client:
        stop = copy.stop
        return pyvrp.Client(
            self.sites[_site_of(stop)],
            delivery=[
                stop_units(stop.spray_gallons),
                *(int(need in stop.needs) for need in self.needs),
            ],
            service_duration=stop.service_seconds,
            tw_early=copy.window[0],
            tw_late=copy.window[1],
            prize=max(0, stop.prize() - stop.away(copy.window[0] // DAY)),
            required=False,
            group=group,
        )

    def _depots(
        self, shifts: Sequence[CrewShift]
    ) -> tuple[list[pyvrp.Depot], dict[tuple[object, int], int]]:
        """Return each yard as a place to start from and as one to refill at."""
        wanted = dict.fromkeys(
            (shift.yard, seconds) for shift in shifts for seconds in (0, shift.refill_seconds)
        )
        depots = [
            pyvrp.Depot(self.sites[_Site(yard)], service_duration=seconds)
            for yard, seconds in wanted
        ]
        return depots, {yard: place for place, yard in enumerate(wanted)}

    def _vehicle_types(
        self, shifts: Sequence[CrewShift]
    ) -> list[tuple[list[CrewShift], pyvrp.VehicleType]]:
        """Return shifts that differ in name alone as one type of vehicle."""
        alike: dict[CrewShift, list[CrewShift]] = {}
        for shift in shifts:
            alike.setdefault(replace(shift, key="", name=""), []).append(shift)
        return [(same, self._vehicle_type(shift, len(same))) for shift, same in alike.items()]

    def _vehicle_type(self, shift: CrewShift, number: int) -> pyvrp.VehicleType:
        yard = self.depot_of[shift.yard, 0]
        return pyvrp.VehicleType(
            number,
            capacity=[
                tank_units(shift.tank_gallons),
                *(PLENTY if need in shift.has else 0 for need in self.needs),
            ],
            start_depot=yard,
            end_depot=yard,
            tw_early=shift.starts,
            tw_late=shift.ends,
            reload_depots=self._reload_depots(shift),
            max_reloads=shift.maximum_refills,
        )

    def _reload_depots(self, shift: CrewShift) -> list[int]:
        most = {copy.stop.key: drawn(copy.stop, is_rinsed=True) for copy in self.copies}
        if sum(most.values()) <= tank_units(shift.tank_gallons):
            return []
        return [self.depot_of[shift.yard, shift.refill_seconds]]


def _telling_needs(copies: Iterable[Copy], shifts: Sequence[CrewShift]) -> list[str]:
    """Return the needs of the stops that some crew lacks; the others decide nothing."""
    asked = {need for copy in copies for need in copy.stop.needs}
    return sorted(need for need in asked if not all(need in shift.has for shift in shifts))

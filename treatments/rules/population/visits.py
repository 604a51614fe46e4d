"""What a visit does to the mites: killed at once, killed by what stays on the leaf, laying less.

On the day a visit leaves ``1 - c * q * e`` of a stage, with the coverage c, the part q of the
active ingredient that the tank has left and the kill e of mites that are hit; on the a-th day
after it, up to the last day of residue, ``1 - c * q * g * e * 2 ** (-a / h)``.  The kills are
common practice, set from laboratory trends; none is a label's claim.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Any

import numpy as np
import numpy.typing as npt

from treatments.rules.population.parameters import CountUnusable, Drawn
from treatments.rules.table_files import read_json

COVERAGE = 0.85  # common practice; 0.6 inside dense boxwood or a hedge
COVERAGE_LEAST, COVERAGE_MOST = 0.5, 0.95  # common practice
RESIDUE_SHARE = 0.5  # common practice: of the kill at the visit


@dataclass(frozen=True, slots=True)
class Kill:
    """What a product does to the mites it hits: parts from 0 to 1, and days.

    fecundity_factor: part of their eggs that females lay on the residue
    """

    egg: float
    larva: float
    nymph: float
    adult: float
    residual_days: int = 0
    half_life_days: float | None = None
    fecundity_factor: float = 1.0

    def __post_init__(self) -> None:
        parts = (self.egg, self.larva, self.nymph, self.adult, self.fecundity_factor)
        if not all(0 <= part <= 1 for part in parts):
            raise CountUnusable("A kill is a part from 0 to 1.")
        if self.residual_days and not self.half_life_days:
            raise CountUnusable("A residue that lasts needs the days in which half of it is lost.")

    @property
    def stages(self) -> tuple[float, float, float, float]:
        """The kill of egg, larva, nymph and adult."""
        return self.egg, self.larva, self.nymph, self.adult

    @property
    def leaves_eggs_and_residue(self) -> tuple[bool, bool]:
        """Whether eggs survive it, and whether anything stays on the leaf."""
        return self.egg == 0, self.residual_days > 0


@dataclass(frozen=True, slots=True)
class Treatment:
    """One visit against mites.

    coverage: part of the mites that the spray reaches
    strength_left: part of the active ingredient left in the tank
    susceptibility: 1, or less where the mites have shown resistance to its group
    """

    day: date
    product: str
    kill: Kill
    coverage: float = COVERAGE
    strength_left: float = 1.0
    susceptibility: float = 1.0

    def __post_init__(self) -> None:
        parts = (self.coverage, self.strength_left, self.susceptibility)
        if not all(0 <= part <= 1 for part in parts):
            raise CountUnusable("Coverage, strength and susceptibility are parts from 0 to 1.")

    def acts_from(self, day: date) -> bool:
        """Say whether it does anything on a day or later, be it by what stays on the leaf."""
        return self.day + timedelta(days=self.kill.residual_days) >= day


def kill_of(active: str) -> Kill | None:
    """Return the kill of an active ingredient, or None where it is not for the mite forecast.

    active: its common name, or a part of it such as a label prints

    >>> kill_of("hexythiazox").egg, kill_of("permethrin"), kill_of("mineral oil").egg
    (0.85, None, 0.6)
    """
    row = _row_of(active)
    preview = row.get("preview") if row else None
    if preview is None:
        return None
    return Kill(
        **preview["kill"],
        residual_days=preview["residual_days"],
        half_life_days=preview["residual_half_life_days"],
        fecundity_factor=preview.get("fecundity_factor", 1.0),
    )


def _row_of(active: str) -> Mapping[str, Any] | None:
    name = active.strip().casefold()
    if not name:
        return None
    rows = read_json("actives")
    exact = [row for row in rows if row["common_name"].casefold() == name]
    near = [row for row in rows if row["common_name"].casefold().startswith(name)]
    within = [row for row in rows if name in row["common_name"].casefold()]
    return next(iter(exact + near + within), None)


def combined(kills: Sequence[Kill]) -> Kill:
    """Return the kill of several ingredients in one tank, each taking its part of what is left.

    kills: one or more

    >>> combined([Kill(0, 0.5, 0.5, 0.5), Kill(0.5, 0.5, 0, 0)]).stages
    (0.5, 0.75, 0.5, 0.5)
    """
    if not kills:
        raise CountUnusable("A tank holds at least one ingredient.")
    longest = max(kills, key=lambda each: each.residual_days)
    left = np.prod([[1 - part for part in each.stages] for each in kills], axis=0)
    fecundity = float(np.prod([each.fecundity_factor for each in kills]))
    egg, larva, nymph, adult = (float(1 - part) for part in left)
    return replace(
        longest, egg=egg, larva=larva, nymph=nymph, adult=adult, fecundity_factor=fecundity
    )


def survival_on(
    day: date, treatments: Sequence[Treatment], coverage_factor: Drawn = 1.0
) -> npt.NDArray[np.float64]:
    """Return the part of eggs, larvae, nymphs and adults that a day's visits and residues leave.

    coverage_factor: times each visit's coverage, never above 1 together; one for each draw

    >>> soap = Treatment(date(2026, 6, 1), "soap", kill_of("insecticidal soap"))
    >>> [round(float(part), 3) for part in survival_on(date(2026, 6, 1), [soap])]
    [1.0, 0.235, 0.235, 0.235]
    """
    left = np.ones((4, *np.shape(coverage_factor)))
    for treatment in treatments:
        share = _share_acting(treatment, (day - treatment.day).days)
        if share:
            left *= 1 - share * _reached(treatment, coverage_factor)
    return left


def laying_on(
    day: date, treatments: Sequence[Treatment], coverage_factor: Drawn = 1.0
) -> npt.NDArray[np.float64]:
    """Return the part of their eggs that females lay on a day, on what residues there are."""
    laid = np.ones(np.shape(coverage_factor))
    for treatment in treatments:
        age, kill = (day - treatment.day).days, treatment.kill
        if kill.fecundity_factor < 1 and 0 <= age <= kill.residual_days and kill.half_life_days:
            covered = np.minimum(treatment.coverage * np.asarray(coverage_factor), 1)
            laid *= 1 - covered * (1 - kill.fecundity_factor) * 2 ** (-age / kill.half_life_days)
    return laid


def _share_acting(treatment: Treatment, age_days: int) -> float:
    if age_days == 0:
        return 1.0
    kill = treatment.kill
    if not 1 <= age_days <= kill.residual_days or kill.half_life_days is None:
        return 0.0
    return RESIDUE_SHARE * 2 ** (-age_days / kill.half_life_days)


def _reached(treatment: Treatment, coverage_factor: Drawn) -> npt.NDArray[np.float64]:
    covered = np.minimum(treatment.coverage * np.asarray(coverage_factor), 1)
    strength = treatment.strength_left * treatment.susceptibility
    stages = np.array(treatment.kill.stages).reshape(4, *(1,) * covered.ndim)
    return stages * covered * strength


def slipped(
    treatments: Sequence[Treatment], number: int, days: int, *, later_too: bool = False
) -> tuple[Treatment, ...]:
    """Return the visits with one of them some days late, and the later ones as well if asked.

    number: of the visit in its order, from 1; days: later, or earlier when negative

    >>> visits = [Treatment(date(2026, 6, 7 * n + 1), "soap", Kill(0, 1, 1, 1)) for n in range(3)]
    >>> [visit.day.day for visit in slipped(visits, 2, 5, later_too=True)]
    [1, 13, 20]
    """
    _refuse_number(treatments, number)
    return tuple(
        replace(each, day=each.day + timedelta(days=days))
        if place == number or (later_too and place > number)
        else each
        for place, each in enumerate(treatments, start=1)
    )


def repeated(treatments: Sequence[Treatment], number: int) -> tuple[Treatment, ...]:
    """Return the visits with one of them using the product of the visit before it again.

    number: of the visit in its order, from 2

    >>> visits = [Treatment(date(2026, 6, 1), "soap", Kill(0, 1, 1, 1)),
    ...           Treatment(date(2026, 6, 8), "oil", Kill(0.6, 1, 1, 1))]
    >>> [visit.product for visit in repeated(visits, 2)]
    ['soap', 'soap']
    """
    _refuse_number(treatments, number, least=2)
    before = treatments[number - 2]
    return tuple(
        replace(before, day=each.day) if place == number else each
        for place, each in enumerate(treatments, start=1)
    )


def _refuse_number(treatments: Sequence[Treatment], number: int, least: int = 1) -> None:
    if not least <= number <= len(treatments):
        raise CountUnusable(f"There is no visit {number} to change; there are {len(treatments)}.")

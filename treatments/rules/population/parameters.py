"""What is known of how two-spotted spider mites live, and how uncertain it is.

Heat is in Celsius degree-days over 10 C, below 33 C, by the single sine with a horizontal cutoff:
`MITE_HEAT`.  Where a range was published, a draw is taken from it, the likeliest at the figure
used for the expected line.  A parameter is a number, or an array with one figure for each draw.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from treatments.rules.degree_days import HeatModel

Drawn = float | npt.NDArray[np.float64]

MITE_HEAT = HeatModel(lower=10.0, upper=33.0)  # lower [CANENT-1981]; the upper an assumption
EGG_TO_ADULT_HEAT = 145.0  # 141.3, 152.3 and 139.8 at 15, 18 and 21 C [CANENT-1981]
EGG_SHARE, LARVA_SHARE = 62 / 145, 26 / 145  # 43 : 18 : 39 of 100 [EAJBS-12844]
GROWTH_PER_HEAT = 0.016  # .08 a day at 15 C and .321 at 30 C, both over 10 C [AESA-2001]


class CountUnusable(ValueError):
    """Counts or parameters from which the mites' growth cannot be told."""


@dataclass(frozen=True, slots=True)
class Mite:
    """One kind of mite: the heat each stage takes, its boxes, survival and increase.

    egg_heat ... preoviposition_heat: mean duration of a stage, in Celsius degree-days over 10 C
    boxes: of egg, larva, nymph and young female; more boxes spread a stage's end less
    juvenile_survival: part of the eggs that live to the last moult
    female_share: part of the adults that are female
    laying_life_heat: mean life of a laying female, in degree-days
    growth_per_heat: rate of increase a degree-day with no visit, predator or rain
    """

    egg_heat: Drawn = EGG_TO_ADULT_HEAT * EGG_SHARE
    larva_heat: Drawn = EGG_TO_ADULT_HEAT * LARVA_SHARE
    nymph_heat: Drawn = EGG_TO_ADULT_HEAT * (1 - EGG_SHARE - LARVA_SHARE)
    preoviposition_heat: Drawn = 12.0  # .29 to .89 days at 25 C [EAJBS-12844]
    boxes: tuple[int, int, int, int] = (16, 16, 16, 4)  # 15 % spread egg to adult: assumption
    juvenile_survival: Drawn = 0.80  # 80.2 % in a near relative [IJPPS-21531]
    female_share: Drawn = 0.75  # 76.3 % [IJPPS-21531]
    laying_life_heat: Drawn = 150.0  # an assumption inside 6 to 30 days [EAJBS-12844]
    growth_per_heat: Drawn = GROWTH_PER_HEAT

    def stage_heats(self) -> tuple[Drawn, Drawn, Drawn, Drawn]:
        """Return the heat of egg, larva, nymph and young female."""
        return self.egg_heat, self.larva_heat, self.nymph_heat, self.preoviposition_heat

    def loss_per_heat(self) -> tuple[Drawn, Drawn, Drawn, Drawn]:
        """Return the loss a degree-day of egg, larva, nymph and female, young or laying."""
        juvenile_heat = self.egg_heat + self.larva_heat + self.nymph_heat
        juvenile = -np.log(self.juvenile_survival) / juvenile_heat
        return juvenile, juvenile, juvenile, 1 / self.laying_life_heat


@dataclass(frozen=True, slots=True)
class GrowthFactor:
    """Which part of the growth in a laboratory the mites show outdoors: least, likeliest, most."""

    low: float
    likely: float
    high: float
    fitted: bool = False

    def __post_init__(self) -> None:
        if not self.low <= self.likely <= self.high:
            raise CountUnusable("A growth factor lies between its least and its most.")


STEADY, FASTEST = 0.0, 2.0  # growth factors that a forecast takes at least and at most
OUTDOORS = GrowthFactor(0.5, 0.7, 1.0)  # this project's choice
TWO_SPOTTED = Mite()


def drawn_mite(draws: int, chance: np.random.Generator) -> Mite:
    """Return a mite whose parameters are arrays: first the expected, then the draws.

    draws: 1 or more; chance: a seeded generator

    The ranges: egg to adult 120 to 155 degree-days [CANENT-1981], before laying 4 to 15
    [EAJBS-12844], survival 0.4 to 0.95 [IJPPS-21531], females 0.6 to 0.83 [IJPPS-21531], laying
    life 90 to 300 (assumption), growth 0.014 to 0.020 a degree-day [AESA-2001] [IJPPS-21531].

    >>> drawn_mite(5, np.random.default_rng(1)).egg_heat.shape
    (6,)
    """
    whole = _draw(120, EGG_TO_ADULT_HEAT, 155, draws, chance)
    return Mite(
        egg_heat=whole * EGG_SHARE,
        larva_heat=whole * LARVA_SHARE,
        nymph_heat=whole * (1 - EGG_SHARE - LARVA_SHARE),
        preoviposition_heat=_draw(4, 12.0, 15, draws, chance),
        juvenile_survival=_draw(0.4, 0.80, 0.95, draws, chance),
        female_share=_draw(0.6, 0.75, 0.83, draws, chance),
        laying_life_heat=_draw(90, 150.0, 300, draws, chance),
        growth_per_heat=_draw(0.014, GROWTH_PER_HEAT, 0.020, draws, chance),
    )


def drawn_growth(growth: GrowthFactor, draws: int, chance: np.random.Generator) -> Drawn:
    """Return growth factors: first the likeliest, then the draws, all from STEADY to FASTEST.

    Mites that fell without a visit are taken as steady: what held them may not last.

    >>> bool(drawn_growth(OUTDOORS, 3, np.random.default_rng(1))[0] == 0.7)
    True
    """
    drawn = _draw(growth.low, growth.likely, growth.high, draws, chance)
    return np.clip(drawn, STEADY, FASTEST)


def _draw(
    low: float, likely: float, high: float, draws: int, chance: np.random.Generator
) -> npt.NDArray[np.float64]:
    if low == high:
        return np.full(draws + 1, likely)
    return np.concatenate(([likely], chance.triangular(low, likely, high, draws)))

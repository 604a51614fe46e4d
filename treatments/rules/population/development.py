"""The mites' development through the heat of a day, all draws side by side.

The boxes of eggs, larvae, nymphs and young females and the one box of laying females form a ring:
in a small step of heat each box keeps a part and passes a part to the next, and the laying
females pass eggs to the first.  The cost is the number of steps times boxes times draws.
"""

from dataclasses import dataclass
from math import ceil

import numpy as np
import numpy.typing as npt

from treatments.rules.population.parameters import CountUnusable, Drawn, Mite

LONGEST_STEP = 0.25  # degree-days; the rate of increase comes out 0.3 % low

Boxes = npt.NDArray[np.float64]  # one row a box, one column a draw


@dataclass(frozen=True, slots=True)
class Ring:
    """What a mite's boxes pass on, keep and lose, a degree-day, one row a box."""

    outflow: Boxes
    loss: Boxes
    female_share: Drawn
    eggs_per_heat: Drawn
    egg_rows: slice
    last_nymph: int


def ring_of(mite: Mite, eggs_per_heat: Drawn, draws: int) -> Ring:
    """Return the boxes of a mite, ready for a number of draws side by side.

    eggs_per_heat: laid by a female in a degree-day

    Raise CountUnusable where a box is shorter than a step.
    """
    stage_of = np.repeat([0, 1, 2, 3], mite.boxes)
    heats = _rows(mite.stage_heats(), draws)
    losses = _rows(mite.loss_per_heat(), draws)
    outflow = (np.array(mite.boxes)[:, None] / heats)[stage_of]
    if (outflow * LONGEST_STEP >= 1).any():
        raise CountUnusable("A stage is too short for its number of boxes.")
    return Ring(
        outflow=np.vstack([outflow, np.zeros(draws)]),
        loss=np.vstack([losses[stage_of], losses[3]]),
        female_share=mite.female_share,
        eggs_per_heat=eggs_per_heat,
        egg_rows=slice(0, mite.boxes[0]),
        last_nymph=sum(mite.boxes[:3]) - 1,
    )


def _rows(figures: tuple[Drawn, ...], draws: int) -> Boxes:
    return np.stack([np.broadcast_to(figure, draws) for figure in figures]).astype(np.float64)


def develop(
    boxes: Boxes, heat: float, ring: Ring, laying: Drawn = 1.0, most_motiles: float | None = None
) -> None:
    """Let the boxes develop through the heat of a day, in place.

    heat: degree-days; laying: part of their eggs that females lay today
    most_motiles: moving mites a leaf at which crowding stops the laying, if it is to
    """
    if heat <= 0:
        return
    steps = ceil(heat / LONGEST_STEP)
    keep, passing = _parts(ring, heat / steps)
    passing[-1] *= laying
    passed = np.empty_like(boxes)
    for _ in range(steps):
        np.multiply(boxes, passing, out=passed)
        if most_motiles is not None:
            passed[-1] *= _room(boxes, ring, most_motiles)
        boxes *= keep
        boxes[1:] += passed[:-1]
        boxes[0] += passed[-1]


def _parts(ring: Ring, step: float) -> tuple[Boxes, Boxes]:
    """Return what each box keeps and passes on in a step, after the loss of where it arrives."""
    living = np.exp(-ring.loss * step)
    moving = ring.outflow * step
    passing = moving * np.roll(living, -1, axis=0)
    passing[ring.last_nymph] *= ring.female_share
    passing[-1] = ring.eggs_per_heat * step * living[0]
    return (1 - moving) * living, passing


def _room(boxes: Boxes, ring: Ring, most_motiles: float) -> Boxes:
    motiles = boxes[ring.egg_rows.stop :].sum(axis=0)
    return np.maximum(0, 1 - motiles / most_motiles)

"""What a small step of heat passes on."""

from dataclasses import replace

import numpy as np
import pytest

from treatments.rules.population import TWO_SPOTTED, CountUnusable
from treatments.rules.population.development import LONGEST_STEP, develop, ring_of


def test_eggs_are_lost_from_the_step_on_in_which_they_are_laid():
    # 80 of 100 [IJPPS-21531] live through 145 degree-days from egg to adult [CANENT-1981]
    boxes = np.zeros((sum(TWO_SPOTTED.boxes) + 1, 1))
    boxes[-1] = 1

    develop(boxes, LONGEST_STEP, ring_of(TWO_SPOTTED, 1.0, 1))

    assert boxes[0, 0] == pytest.approx(LONGEST_STEP * 0.8 ** (LONGEST_STEP / 145), rel=1e-6)


def with_one_in(box):
    boxes = np.zeros((sum(TWO_SPOTTED.boxes) + 1, 1))
    boxes[box] = 1
    return boxes


@pytest.mark.parametrize("crowded_or_sick", [{"laying": 0.0}, {"most_motiles": 1.0}])
def test_a_female_that_may_not_lay_lays_nothing(crowded_or_sick):
    boxes = with_one_in(-1)

    develop(boxes, LONGEST_STEP, ring_of(TWO_SPOTTED, 1.0, 1), **crowded_or_sick)

    assert boxes[0, 0] == 0


def test_only_the_females_of_the_last_nymphs_go_on():
    last = sum(TWO_SPOTTED.boxes[:3]) - 1
    ring, passed = ring_of(TWO_SPOTTED, 1.0, 1), []
    for box in (last - 1, last):
        boxes = with_one_in(box)
        develop(boxes, LONGEST_STEP, ring)
        passed.append(boxes[box + 1, 0] / (ring.outflow[box, 0] * LONGEST_STEP))

    living = np.exp(-ring.loss[[last, last + 1], 0] * LONGEST_STEP)
    assert passed == pytest.approx([living[0], living[1] * TWO_SPOTTED.female_share])


def test_a_box_that_is_shorter_than_a_step_is_refused():
    # so many boxes of eggs that a step is half as long again as each of them
    heat = float(np.max(TWO_SPOTTED.stage_heats()[0]))
    many = round(1.5 * heat / LONGEST_STEP)

    with pytest.raises(CountUnusable, match="too short"):
        ring_of(replace(TWO_SPOTTED, boxes=(many, 16, 16, 4)), 1.0, 1)

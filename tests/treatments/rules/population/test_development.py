"""What a small step of heat passes on."""

import numpy as np
import pytest

from treatments.rules.population import TWO_SPOTTED
from treatments.rules.population.development import LONGEST_STEP, develop, ring_of


def test_eggs_are_lost_from_the_step_on_in_which_they_are_laid():
    # 80 of 100 [IJPPS-21531] live through 145 degree-days from egg to adult [CANENT-1981]
    boxes = np.zeros((sum(TWO_SPOTTED.boxes) + 1, 1))
    boxes[-1] = 1

    develop(boxes, LONGEST_STEP, ring_of(TWO_SPOTTED, 1.0, 1))

    assert boxes[0, 0] == pytest.approx(LONGEST_STEP * 0.8 ** (LONGEST_STEP / 145), rel=1e-6)

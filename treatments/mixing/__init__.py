"""Works out a mix for anything: a planting, free ground or plants, in a tank or at the hose."""

from treatments.mixing.asked import Asked, AskedOfHose, Target
from treatments.mixing.hose import Metered, meter
from treatments.mixing.label import LabelRange, label_range
from treatments.mixing.shared import (
    NoPlanting,
    SharedMix,
    outputs_of,
    share_mix,
    spray_for_each,
)
from treatments.mixing.tanks import Batch, Mixed, PortionRow, mix
from treatments.mixing.volume import Volume

__all__ = [
    "Asked",
    "AskedOfHose",
    "Batch",
    "LabelRange",
    "Metered",
    "Mixed",
    "NoPlanting",
    "PortionRow",
    "SharedMix",
    "Target",
    "Volume",
    "label_range",
    "meter",
    "mix",
    "outputs_of",
    "share_mix",
    "spray_for_each",
]

"""Travel: by a road server of one's own where there is one, corrected by recorded drives."""

from services.travelling.learning import LearnedDriving, drives_recorded, driving_learned
from services.travelling.ways import Travelled, point_of, travel_between

__all__ = [
    "LearnedDriving",
    "Travelled",
    "drives_recorded",
    "driving_learned",
    "point_of",
    "travel_between",
]

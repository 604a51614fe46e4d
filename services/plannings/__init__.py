"""Plans in the making: asked for, worked on in steps by whoever is free, stopped, swept."""

from services.plannings.asking import MOST_AT_ONCE, ask_replan, ask_week, is_small, stop
from services.plannings.running import run_planning, sweep_plannings

__all__ = [
    "MOST_AT_ONCE",
    "ask_replan",
    "ask_week",
    "is_small",
    "run_planning",
    "stop",
    "sweep_plannings",
]

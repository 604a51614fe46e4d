"""Dispatching: what stands in the way, the week as it stands, and a day handed out to crews."""

from services.dispatching.crews import LOADED_WITH_CREWS, crews_at_work
from services.dispatching.days import (
    DayPlan,
    LeftOutVisit,
    dispatch_day,
    dispatches_of,
)
from services.dispatching.facts import dispatch_facts
from services.dispatching.lapsed import against_its_crew
from services.dispatching.obstacles import what_stands_in_the_way
from services.dispatching.reading import today_at_yard
from services.dispatching.recalling import recall
from services.dispatching.store import already_aboard, reserved_amounts
from services.dispatching.week import WeekGroup, WeekRow, read_week, week_of
from services.dispatching.weeks import dispatch_week

__all__ = [
    "LOADED_WITH_CREWS",
    "DayPlan",
    "LeftOutVisit",
    "WeekGroup",
    "WeekRow",
    "against_its_crew",
    "already_aboard",
    "crews_at_work",
    "dispatch_day",
    "dispatch_facts",
    "dispatch_week",
    "dispatches_of",
    "read_week",
    "recall",
    "reserved_amounts",
    "today_at_yard",
    "week_of",
    "what_stands_in_the_way",
]

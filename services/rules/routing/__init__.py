"""Who makes which stop on a day, in what order and when; and why a stop is left out."""

from services.rules.routing.planning import plan_day, plan_days
from services.rules.routing.searching import Search, Step

__all__ = ["Search", "Step", "plan_day", "plan_days"]

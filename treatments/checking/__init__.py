"""Asks the rules whether a rotation may be put on plantings, and whether the air allows it.

Whatever the number of weeks and plantings, the number of queries is the same.
"""

from treatments.checking.books import applied_on, earlier_on, history_of_plantings, taken_over
from treatments.checking.conditions import check_conditions
from treatments.checking.planned import days_of_weeks, planned_application
from treatments.checking.weeks import check_course, check_weeks
from treatments.gathering import groups_of, planting_facts, product_facts, treated_area_of

__all__ = [
    "applied_on",
    "check_conditions",
    "check_course",
    "check_weeks",
    "days_of_weeks",
    "earlier_on",
    "groups_of",
    "history_of_plantings",
    "planned_application",
    "planting_facts",
    "product_facts",
    "taken_over",
    "treated_area_of",
]

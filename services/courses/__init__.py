"""Courses: put on plantings, moved within their days, and ended."""

from services.courses.days import local_day, step_of, steps_of, working_days
from services.courses.ending import end_course
from services.courses.hours import NoHours, is_at_dusk, spray_window, spray_windows
from services.courses.moving import MovedVisit, move_visit, shift_after
from services.courses.putting_on import put_on, visits_to_be
from services.courses.single_steps import take_step
from services.courses.weeks import CourseWeek, Mark, course_weeks, day_of, mark_of

__all__ = [
    "CourseWeek",
    "Mark",
    "MovedVisit",
    "NoHours",
    "course_weeks",
    "day_of",
    "end_course",
    "is_at_dusk",
    "local_day",
    "mark_of",
    "move_visit",
    "put_on",
    "shift_after",
    "spray_window",
    "spray_windows",
    "step_of",
    "steps_of",
    "take_step",
    "visits_to_be",
    "working_days",
]

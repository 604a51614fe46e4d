"""Estimates: a course priced for a client, accepted or declined by a link, then put on."""

from services.estimating.answering import answer, begin, may_begin_at_once
from services.estimating.reckoning import PricedWeek, priced_weeks
from services.estimating.sending import send_estimate
from services.estimating.writing import withdraw, write_estimate

__all__ = [
    "PricedWeek",
    "answer",
    "begin",
    "may_begin_at_once",
    "priced_weeks",
    "send_estimate",
    "withdraw",
    "write_estimate",
]

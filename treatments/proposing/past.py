"""What the records show: on each planting before, and in which weeks something was done already."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import timedelta

from treatments.checking import earlier_on, history_of_plantings
from treatments.gathering import earlier_application, local_day, past_application
from treatments.models import ApplicationRecord
from treatments.proposing.asking import SKIPPED, Asked
from treatments.rules.composing import Pin, PinKind
from treatments.rules.facts import PastApplication, ProductFacts


@dataclass(slots=True)
class Past:
    """What was applied: before the first day by planting, and since then by week."""

    history: dict[int, list[PastApplication]] = field(default_factory=lambda: defaultdict(list))
    done: dict[int, PastApplication] = field(default_factory=dict)

    def add(self, planting_id: int, applied: PastApplication, week: int | None) -> None:
        """Take in one application; a second product in a week stays with its planting."""
        if week is None:
            self.history[planting_id].append(applied)
            return
        first = self.done.setdefault(week, applied)
        if first.product != applied.product:
            self.history[planting_id].append(applied)


def past_of(asked: Asked, facts: Mapping[int, ProductFacts]) -> Past:
    """Return what was applied on the plantings, in two queries."""
    past = Past()
    until = max(asked.first_day, asked.today + timedelta(days=1))
    for planting_id, records in history_of_plantings(asked.plantings, until).items():
        for record in records:
            week = asked.week_of(local_day(record))
            past.add(planting_id, _applied(record, facts), week)
    for each in earlier_on(asked.plantings, until):
        if each.product_id is not None:
            applied = earlier_application(each, facts[each.product_id])
            past.add(each.planting_id, applied, asked.week_of(each.applied_on))
    return past


def _applied(record: ApplicationRecord, facts: Mapping[int, ProductFacts]) -> PastApplication:
    return past_application(record, facts[record.product_id])


def pins_of(asked: Asked, past: Past, codes: set[str]) -> tuple[list[Pin], tuple[int, ...]]:
    """Return the weeks that are not free, and those whose fixed product is not on offer.

    What was done stands before what was asked; a week that is over without a visit is skipped.
    """
    pins = [Pin(week, PinKind.DONE, applied=applied) for week, applied in sorted(past.done.items())]
    over = {week for week, day in enumerate(asked.days(), 1) if day < asked.today}
    free = [week for week in range(1, asked.weeks + 1) if week not in past.done]
    wanted = {week: SKIPPED if week in over else asked.pins.get(week, "") for week in free}
    pins += [_pin(week, code) for week, code in wanted.items() if code in {*codes, SKIPPED}]
    gone = [week for week, code in wanted.items() if code and code not in {*codes, SKIPPED}]
    return pins, tuple(gone)


def _pin(week: int, code: str) -> Pin:
    if code == SKIPPED:
        return Pin(week, PinKind.SKIPPED)
    return Pin(week, PinKind.FIXED, code)

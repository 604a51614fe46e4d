"""How a course stands after the counts so far, and what that says of the weeks to come.

A course is finished once two counts in a row, some days apart, lie under the threshold and no
forecast without further visits comes back to it.  At or over the threshold it does not work where
the last visit did far less than was to be expected, or counts have not fallen in two visits.

What is proposed stays a proposal: the label, local codes and a licensed applicator decide.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from treatments.rules.findings import Finding, Severity, gettext_noop

APART = timedelta(days=5)  # between two counts that both are to be low; common practice
VISITS_TO_FALL = 2  # after which counts are to have fallen; common practice
PRACTICE = "common practice"

COUNT_FIRST = gettext_noop(
    "Nothing was counted after a visit yet. Count just before every visit, and three to seven "
    "days after the second."
)
POOR_LAST = gettext_noop(
    "The last visit that counts tell of, on %(day)s (group %(group)s), did far less than expected."
)
LOOK_AT_WORK = gettext_noop(
    "Look first at coverage of leaf undersides, rate, water, rain after the visit and the age of "
    "the tank; then let the next visit work differently."
)
NOT_FALLEN = gettext_noop(
    "%(visits)s visits, and the count has not fallen: %(before)s a leaf on %(first)s, %(after)s "
    "on %(last)s."
)
SWITCH = gettext_noop("Week %(weeks)s would use group %(group)s again.")
CHOOSE_OTHER = gettext_noop(
    "Give those weeks a product that works differently: put another rotation on from here."
)
LOW_TWICE = gettext_noop(
    "Two counts in a row are low: %(before)s a leaf on %(first)s, %(after)s on %(last)s."
)
STAYS_LOW = gettext_noop(
    "Without another visit the forecast stays under the threshold of %(threshold)s for four weeks."
)
NO_FORECAST = gettext_noop("No forecast tells whether it stays so: count again in ten days.")
STOP_EARLY = gettext_noop(
    "Consider ending the course: %(visits)s visits are planned that it may not need."
)
COUNT_ON = gettext_noop("Count once more ten to fourteen days after the last visit, then end it.")
COMES_BACK = gettext_noop(
    "The counts are low, yet without another visit the forecast comes back to %(highest)s a leaf."
)
FALLING = gettext_noop(
    "The count fell from %(before)s a leaf on %(first)s to %(after)s on %(last)s."
)
NOT_ENOUGH = gettext_noop(
    "With all visits that are planned about %(end)s a leaf are expected at the end; the threshold "
    "is %(threshold)s."
)
EXTEND = gettext_noop("Consider another course after this one, or a closer interval by the label.")


class Standing(StrEnum):
    """How a course stands on one planting."""

    UNKNOWN = "unknown"
    WORKING = "working"
    NOT_WORKING = "not working"
    FINISHED = "finished"


@dataclass(frozen=True, slots=True)
class Counted:
    """Moving pests a leaf, or a beat, on a day."""

    day: date
    number: float


@dataclass(frozen=True, slots=True)
class WeekToCome:
    """A week of the course that is still to be sprayed, with the groups it counts in."""

    week: int
    groups: frozenset[str]


@dataclass(frozen=True, slots=True)
class PoorVisit:
    """A visit that did far less than was to be expected: its groups as printed and as counted."""

    day: date
    printed: str
    groups: frozenset[str]


@dataclass(frozen=True, slots=True)
class CourseSoFar:
    """What is known of a course on one planting.

    counts: in order, from the last one before the first visit on
    visits: days on which it was sprayed, in order
    threshold: in the unit of the counts, None where none is known
    poor: in order
    told: the last day of a visit of which counts tell what it did
    highest_without: upper end of the forecast without further visits, None without one
    end_with: expected at the end with all that is planned, None without a forecast
    """

    counts: Sequence[Counted]
    visits: Sequence[date]
    to_come: Sequence[WeekToCome] = ()
    threshold: float | None = None
    poor: Sequence[PoorVisit] = ()
    told: date | None = None
    highest_without: float | None = None
    end_with: float | None = None


def follow_up(so_far: CourseSoFar) -> tuple[Standing, list[Finding]]:
    """Return how a course stands, and what that says: why, and what is proposed."""
    after = [each for each in so_far.counts if so_far.visits and each.day > so_far.visits[0]]
    if not after:
        return Standing.UNKNOWN, [_note("count-first", COUNT_FIRST, {})]
    trouble = _trouble(so_far, after[-1])
    if trouble:
        return Standing.NOT_WORKING, trouble
    if _is_low_twice(so_far, after):
        return _finished(so_far, after)
    return Standing.WORKING, [*_falling(so_far, after[-1]), *_not_enough(so_far)]


def _trouble(so_far: CourseSoFar, last: Counted) -> list[Finding]:
    if last.number < (so_far.threshold or 0) or last.number == 0:
        return []
    if so_far.poor and so_far.poor[-1].day == so_far.told:
        poor = so_far.poor[-1]
        told: dict[str, object] = {"day": poor.day, "group": poor.printed or "-"}
        return [_warning("not-working", POOR_LAST, LOOK_AT_WORK, told), *_switch(so_far, poor)]
    before = _before(so_far)
    made = [day for day in so_far.visits if day < last.day]
    if before is None or len(made) < VISITS_TO_FALL or last.number < before.number:
        return []
    facts: dict[str, object] = {"visits": len(made), **_two(before, last)}
    return [_warning("not-falling", NOT_FALLEN, LOOK_AT_WORK, facts)]


def _switch(so_far: CourseSoFar, poor: PoorVisit) -> list[Finding]:
    """Name the weeks to come that would meet the pest with a group that just failed."""
    weeks = [each for each in so_far.to_come if poor.groups & each.groups]
    if not weeks:
        return []
    facts = {"weeks": ", ".join(str(each.week) for each in weeks), "group": poor.printed}
    return [_warning("same-group-to-come", SWITCH, CHOOSE_OTHER, facts)]


def _is_low_twice(so_far: CourseSoFar, after: Sequence[Counted]) -> bool:
    last = after[-1]
    earlier = [each for each in after if last.day - each.day >= APART]
    return bool(earlier) and all(_is_low(each, so_far.threshold) for each in (earlier[-1], last))


def _is_low(counted: Counted, threshold: float | None) -> bool:
    return counted.number < threshold if threshold else counted.number == 0


def _finished(so_far: CourseSoFar, after: Sequence[Counted]) -> tuple[Standing, list[Finding]]:
    last = after[-1]
    earlier = next(each for each in reversed(after) if last.day - each.day >= APART)
    told = [_note("low-twice", LOW_TWICE, _two(earlier, last))]
    highest, threshold = so_far.highest_without, so_far.threshold
    if highest is not None and threshold and highest >= threshold:
        told.append(_note("comes-back", COMES_BACK, {"highest": _said(highest)}))
        return Standing.WORKING, told
    if highest is None or not threshold:
        told.append(_note("no-forecast", NO_FORECAST, {}))
    else:
        told.append(_note("stays-low", STAYS_LOW, {"threshold": _said(threshold)}))
    if so_far.to_come:
        visits = {"visits": len(so_far.to_come)}
        told.append(_note("stop-early", STOP_EARLY, visits, COUNT_ON))
    return Standing.FINISHED, told


def _falling(so_far: CourseSoFar, last: Counted) -> list[Finding]:
    before = _before(so_far)
    if before is None or last.number >= before.number:
        return []
    return [_note("falling", FALLING, _two(before, last))]


def _not_enough(so_far: CourseSoFar) -> list[Finding]:
    end, threshold = so_far.end_with, so_far.threshold
    if end is None or not threshold or end < threshold:
        return []
    facts = {"end": _said(end), "threshold": _said(threshold)}
    return [_warning("not-enough", NOT_ENOUGH, EXTEND, facts)]


def _before(so_far: CourseSoFar) -> Counted | None:
    """Return the last count before the first visit."""
    first = so_far.visits[0]
    return next((each for each in reversed(so_far.counts) if each.day <= first), None)


def _two(before: Counted, after: Counted) -> dict[str, object]:
    return {
        "before": _said(before.number),
        "first": before.day,
        "after": _said(after.number),
        "last": after.day,
    }


def _said(number: float) -> str:
    return f"{number:.1f}"


def _note(code: str, sentence: str, facts: Mapping[str, object], remedy: str = "") -> Finding:
    return Finding(code, Severity.NOTE, sentence, remedy, facts, PRACTICE)


def _warning(code: str, sentence: str, remedy: str, facts: Mapping[str, object]) -> Finding:
    return Finding(code, Severity.WARNING, sentence, remedy, facts, PRACTICE)

"""When stages of shrub pests are out, told by the heat of the season instead of the calendar.

The table gives degree-days over 50 F from 1 March on.  Published sets disagree by about a fifth, so
a cue says when to go and look, never when to spray unseen.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Any

from treatments.rules.degree_days import Cutoff, HeatDay, HeatModel, Method, Scale, day_reaching
from treatments.rules.findings import Finding, Marked, Severity, gettext_noop
from treatments.rules.table_files import read_toml

CUE_HEAT = HeatModel(50.0, None, Method.SIMPLE_AVERAGE, Cutoff.NONE, Scale.FAHRENHEIT)
START = (3, 1)  # month and day from which to count: common practice

# The table's words, marked here for the translators.
EVENTS = (
    gettext_noop("overwintering eggs hatch"),
    gettext_noop("active"),
    gettext_noop("active in spring"),
    gettext_noop("active in autumn"),
    gettext_noop("adults"),
    gettext_noop("nymphs"),
    gettext_noop("eggs"),
    gettext_noop("eggs hatch"),
    gettext_noop("larvae"),
    gettext_noop("larvae of the second brood"),
    gettext_noop("larvae of the third brood"),
    gettext_noop("crawlers"),
    gettext_noop("crawlers of the second brood"),
)
COMES = gettext_noop("%(pest)s, %(event)s: about %(day)s, at %(heat)s degree-days over 50 °F.")
COMES_LATER = gettext_noop(
    "%(pest)s, %(event)s: at %(heat)s degree-days over 50 °F; %(wanting)s are wanting."
)
OPEN_NOW = gettext_noop("%(pest)s, %(event)s: now, since %(heat)s degree-days over 50 °F.")
PAST = gettext_noop("%(pest)s, %(event)s: over for this season.")
GO_AND_LOOK = gettext_noop("Go and look; sources differ by about a fifth.")


class CueState(StrEnum):
    """Where the season stands before, in or after a cue's window."""

    AHEAD = "ahead"
    OPEN = "open"
    PAST = "past"


@dataclass(frozen=True, slots=True)
class Cue:
    """A stage of a pest and the heat at which it is out, in degree-days over 50 F.

    until: the end of the window; None where the source gives none
    """

    pest: Marked
    event: Marked
    opens: float
    until: float | None
    peak: float | None
    source: str

    def state_at(self, heat: float) -> CueState:
        """Return where a heat sum stands; both ends of the window are open.

        >>> cues_of("euonymus scale")[0].state_at(600).value
        'open'
        """
        if heat < self.opens:
            return CueState.AHEAD
        last = self.until or self.peak or self.opens * 1.2  # a fifth: how far sources disagree
        return CueState.OPEN if heat <= last else CueState.PAST


@dataclass(frozen=True, slots=True)
class DatedCue:
    """A cue of this season: where it stands, the day it opened or will, and that in words."""

    cue: Cue
    state: CueState
    opens_on: date | None
    is_forecast: bool
    finding: Finding


def cues_of(pest: str) -> tuple[Cue, ...]:
    """Return the cues of a pest by its common name, the earliest first.

    >>> [cue.opens for cue in cues_of("Birch leafminer")]
    [175.0, 275.0, 375.0]
    """
    name = pest.strip().casefold()
    cues = [_cue(row) for row in read_toml("heat_cues")["cue"] if row["pest"] == name]
    return tuple(sorted(cues, key=lambda cue: cue.opens))


def _cue(row: Mapping[str, Any]) -> Cue:
    return Cue(
        pest=Marked(row["pest"]),
        event=Marked(row["event"]),
        opens=float(row["from"]),
        until=float(row["to"]) if "to" in row else None,
        peak=float(row["peak"]) if "peak" in row else None,
        source=row["source"],
    )


def next_cue(pest: str, heat: float) -> Cue | None:
    """Return the next cue of a pest that lies ahead at a heat sum, or None in its last.

    heat: degree-days over 50 F since the start

    >>> next_cue("euonymus scale", 499).event, next_cue("euonymus scale", 500)
    ('crawlers', None)
    """
    return next((cue for cue in cues_of(pest) if cue.opens > heat), None)


def dated_cues(pest: str, days: Sequence[HeatDay], today: date) -> tuple[DatedCue, ...]:
    """Return the cues of a pest with their days this season, the earliest first.

    days: heat by CUE_HEAT, measured and forecast, from before START on; what is before it is
        left out
    """
    return tuple(_dated(cue, days, today) for cue in cues_of(pest))


def _dated(cue: Cue, days: Sequence[HeatDay], today: date) -> DatedCue:
    start = date(today.year, *START)
    gathered = sum(each.heat for each in days if start <= each.day < today)
    reached = day_reaching(days, cue.opens, since=start)
    state = cue.state_at(gathered)
    day = None if reached is None else reached.day
    # Today's own heat may open the window before its day is counted.
    if state is CueState.AHEAD and day is not None and day <= today:
        state = CueState.OPEN
    finding = _say(cue, state, day, cue.opens - gathered)
    return DatedCue(cue, state, day, bool(reached and reached.forecast), finding)


def _say(cue: Cue, state: CueState, day: date | None, wanting: float) -> Finding:
    facts: dict[str, object] = {
        "pest": Marked(cue.pest),
        "event": cue.event,
        "heat": f"{cue.opens:.0f}",
    }
    if state is not CueState.AHEAD:
        code, sentence = ("cue-open", OPEN_NOW) if state is CueState.OPEN else ("cue-past", PAST)
    elif day is not None:
        code, sentence = "cue-comes", COMES
        facts["day"] = day.isoformat()
    else:
        code, sentence = "cue-comes-later", COMES_LATER
        facts["wanting"] = f"{wanting:.0f}"
    return Finding(code, Severity.NOTE, sentence, GO_AND_LOOK, facts, cue.source)

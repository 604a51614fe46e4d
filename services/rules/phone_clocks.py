"""A phone's ids and clocks: which id is well made, how far its clock is off, what is odd about it.

Nothing here sets a time right: what was stated stays as it was, and what is odd is said.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from uuid import UUID

from treatments.rules.findings import Finding, Severity, gettext_noop

CLOCK_AHEAD = gettext_noop("The phone's clock was %(minutes)s minutes ahead of ours.")
CLOCK_BEHIND = gettext_noop("The phone's clock was %(minutes)s minutes behind ours.")
BEFORE_PLANNED = gettext_noop(
    "Done at %(done)s, before the visit was dispatched at %(dispatched)s."
)
OTHER_ZONE = gettext_noop("The phone reckoned in %(said)s; the property lies in %(zone)s.")
SEQUENCE_REPEATED = gettext_noop(
    "The phone used its number %(seq)s twice: it lost what it held, or was set back."
)

SKEW = timedelta(minutes=2)  # our own choice
MINUTE = timedelta(minutes=1)


def is_uuid7(text: str) -> bool:
    """Say whether a text is a UUID of version 7 in its plain form [RFC9562].

    The bits of version and variant are looked at; its time part proves nothing.

    >>> is_uuid7("017f22e2-79b0-7cc3-98c4-dc0c0c07398f")
    True
    >>> is_uuid7("017f22e2-79b0-4cc3-98c4-dc0c0c07398f"), is_uuid7("urn:uuid:017f22e2")
    (False, False)
    """
    try:
        made = UUID(text)
    except ValueError:
        return False
    return text.lower() == str(made) and made.version == 7


@dataclass(frozen=True, slots=True)
class PhoneClock:
    """What a phone tells of its clock when it writes an event down.

    device: its own clock; server_seen: the last server time it saw; ticks_ms: since then, by a
    counter that nobody sets
    """

    device: datetime
    server_seen: datetime | None = None
    ticks_ms: int | None = None

    def skew(self) -> timedelta | None:
        """Return how far the phone's clock is ahead of ours, or None where it cannot be known.

        >>> seen = datetime(2026, 7, 6, 12, tzinfo=UTC)
        >>> PhoneClock(seen + timedelta(hours=3, minutes=1), seen, 60_000).skew()
        datetime.timedelta(seconds=10800)
        """
        if self.server_seen is None or self.ticks_ms is None:
            return None
        ours = self.server_seen + timedelta(milliseconds=self.ticks_ms)
        return self.device.astimezone(UTC) - ours.astimezone(UTC)


def check_phone_clock(
    skew: timedelta | None,
    *,
    done_at: datetime | None = None,
    dispatched_at: datetime | None = None,
) -> list[Finding]:
    """Return what is odd about the times of an event.

    skew: how far the phone's clock is ahead; None where it is not known
    done_at, dispatched_at: when the work was done and when the visit was handed out
    """
    findings = []
    if skew is not None and abs(skew) > SKEW:
        sentence = CLOCK_AHEAD if skew > SKEW else CLOCK_BEHIND
        findings.append(_odd("clock-off", sentence, {"minutes": round(abs(skew) / MINUTE)}))
    if done_at is not None and dispatched_at is not None and done_at < dispatched_at:
        facts = {
            "done": _told(done_at),
            "dispatched": _told(dispatched_at.astimezone(done_at.tzinfo)),
        }
        findings.append(_odd("done-before-planned", BEFORE_PLANNED, facts))
    return findings


def check_zone(said: str, zone: str) -> list[Finding]:
    """Return that a phone reckoned in another zone than that of the property, where it did."""
    if not said or said == zone:
        return []
    return [_odd("other-zone", OTHER_ZONE, {"said": said, "zone": zone})]


def sequence_repeated(seq: int) -> Finding:
    """Return that a phone used one of its numbers for two events."""
    return _odd("sequence-repeated", SEQUENCE_REPEATED, {"seq": seq})


def gaps_in(seen: set[int], last: int, *, first: int = 1) -> list[tuple[int, int]]:
    """Return the numbers that never came, as pairs of first and last of each gap.

    >>> gaps_in({1, 2, 5, 6, 9}, 10)
    [(3, 4), (7, 8), (10, 10)]
    """
    gaps: list[tuple[int, int]] = []
    for number in range(first, last + 1):
        if number in seen:
            continue
        if gaps and gaps[-1][1] == number - 1:
            gaps[-1] = (gaps[-1][0], number)
        else:
            gaps.append((number, number))
    return gaps


def _odd(code: str, sentence: str, facts: Mapping[str, object]) -> Finding:
    return Finding(code, Severity.WARNING, sentence, facts=facts, source="common practice")


def _told(moment: datetime) -> str:
    return f"{moment:%Y-%m-%d %H:%M %Z}"

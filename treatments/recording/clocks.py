"""The clocks of a record: what is odd about its times, when it is due, how long it is kept."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from treatments.models import ApplicationRecord
from treatments.models.kinds import WRITTEN_LATE
from treatments.rulebook import NOTHING, Binding, Confirmed, as_confirmed, rules_kept
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.records import Clock, Retention, RuleSet, record_due, retention_of

LATE = gettext_noop(
    "The record was received on %(received)s; the rules of %(jurisdiction)s ask for it by %(due)s."
)
AHEAD = gettext_noop("The device's clock ran ahead: written down at %(captured)s, received before.")
NOT_YET = gettext_noop(
    "Completed at %(done)s is later than when it was written down, %(captured)s."
)
LONG_AFTER = gettext_noop("Written down %(hours)s hours after it was completed.")
SAY_WHY = gettext_noop("Say why in the note.")

SKEW = timedelta(minutes=2)  # our own choice
LONG = timedelta(hours=12)  # our own choice


@dataclass(frozen=True, slots=True)
class Clocks:
    """By when a record is to be written, and until when it is kept."""

    due: Clock
    kept: Retention


def clocks_of(record: ApplicationRecord, confirmed: Confirmed = NOTHING) -> Clocks:
    """Return the clocks of a record by the rules that it was checked by."""
    rulesets, day = rules_of(record, confirmed), done_there(record).date()
    return Clocks(
        due_of(record, confirmed),
        retention_of(day, record.jurisdiction, rulesets=rulesets),
    )


def due_of(record: ApplicationRecord, confirmed: Confirmed = NOTHING) -> Clock:
    """Return by when a record is to be written by the rules that it was checked by."""
    rulesets = rules_of(record, confirmed)
    return record_due(done_there(record), record.jurisdiction, rulesets=rulesets)


def rules_of(record: ApplicationRecord, confirmed: Confirmed = NOTHING) -> list[RuleSet]:
    """Return the rule sets that a record was checked by, each with its citation.

    confirmed: what the business compared with the code, as `confirmed_facts` tells it
    """
    kept = rules_kept(record.rules_checked_by, record.jurisdiction, binding_of(record))
    return as_confirmed(kept, confirmed)


def binding_of(record: ApplicationRecord) -> Binding:
    """Return what decides which rule sets bind a record, beside its place."""
    return Binding(done_there(record).date(), record.restricted_use, record.production_site)


def done_there(record: ApplicationRecord) -> datetime:
    """Return when an application was completed, by the clocks of its place."""
    return record.done_at.astimezone(ZoneInfo(record.time_zone))


def check_clocks(record: ApplicationRecord, received_at: datetime) -> list[Finding]:
    """Return what is odd about the times of a record that is about to be kept."""
    findings = _lateness(record, received_at) if record.amends is None else []
    if record.captured_at - received_at > SKEW:
        findings.append(_odd("clock-ahead", AHEAD, captured=record.captured_at))
    if record.done_at - record.captured_at > SKEW:
        findings.append(
            _odd("done-after-written", NOT_YET, done=record.done_at, captured=record.captured_at)
        )
    return findings


def _lateness(record: ApplicationRecord, received_at: datetime) -> list[Finding]:
    findings = []
    due = due_of(record)
    if received_at > due.due_at:
        findings.append(
            _odd(
                WRITTEN_LATE,
                LATE,
                due.source,
                received=received_at.astimezone(due.due_at.tzinfo),
                due=due.due_at,
                jurisdiction=record.jurisdiction,
            )
        )
    waited = record.captured_at - record.done_at
    if waited > LONG and not record.from_paper:
        hours = int(waited.total_seconds() // 3600)
        findings.append(_odd("written-long-after", LONG_AFTER, hours=hours))
    return findings


def _odd(code: str, sentence: str, source: str = "common practice", **facts: object) -> Finding:
    shown = {
        name: f"{fact:%Y-%m-%d %H:%M %Z}" if isinstance(fact, datetime) else fact
        for name, fact in facts.items()
    }
    return Finding(code, Severity.WARNING, sentence, SAY_WHY, shown, source)

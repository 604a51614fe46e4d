"""The mildest step that will do: from watching, over water, clean-up and predators, to sprays.

Integrated pest management climbs from what harms least, and only as far as counts and what was
tried before demand (common practice).  The lower rungs go along with the higher ones.  Soap and
oil leave no residue; selective products spare predators; broad ones kill them, and mites come
back the stronger for it [UC-IPM-BEES].
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from treatments.rules.findings import Counted, Finding, Severity, as_marked, gettext_noop

PREDATOR_SHARE = 0.1  # predators to a pest that hold it: common practice, from memory
SEVERE_TIMES = 5.0  # the threshold: beyond it contact sprays alone are too slow; common practice
SOON_DAYS = 7  # a threshold reached within a week counts as reached: this project's choice
OIL_SOAP_HOTTEST_F = 90  # [UC-IPM-PN7493] for oil; for soap common practice


class Step(StrEnum):
    """The rungs of the ladder, the mildest first."""

    WATCH = "watch"
    WATER_AND_WASH = "water and wash"
    CLEAN_UP = "clean up"
    BENEFICIALS = "beneficials"
    SOAP_OR_OIL = "soap or oil"
    SELECTIVE = "selective"
    BROAD = "broad"


class Standing(StrEnum):
    """What is said of a rung: do this, do this along with it, not yet, or not at all here."""

    PROPOSED = "proposed"
    ALONG = "along"
    NOT_YET = "not yet"
    RULED_OUT = "ruled out"
    PASSED = "passed"


@dataclass(frozen=True, slots=True)
class Situation:
    """What is known of a pest on a planting.

    count, predators: living pests and natural enemies a leaf, or a beat
    threshold: in the same unit, None where none is known
    days_to_threshold: by a forecast, None where it is not reached or not known
    contact_failed, selective_failed: earlier treatments of this season that did too little
    releasable: whether a predator suits the pest, its level and the residues on the leaf
    """

    pest: str
    count: float
    threshold: float | None
    is_mite: bool = True
    predators: float = 0.0
    days_to_threshold: int | None = None
    drought_stressed: bool = False
    in_bloom: bool = False
    temperature_f: float | None = None
    contact_failed: int = 0
    selective_failed: int = 0
    releasable: bool = False

    @property
    def is_held_by_predators(self) -> bool:
        """Whether enough natural enemies are there to hold the pest."""
        return self.count > 0 and self.predators >= PREDATOR_SHARE * self.count

    @property
    def is_over(self) -> bool:
        """Whether the threshold is reached, or will be within a week."""
        if self.threshold is None:
            return False
        soon = self.days_to_threshold is not None and self.days_to_threshold <= SOON_DAYS
        return self.count >= self.threshold or soon

    @property
    def is_severe(self) -> bool:
        """Whether the pest is far over the threshold."""
        return self.threshold is not None and self.count >= SEVERE_TIMES * self.threshold


@dataclass(frozen=True, slots=True)
class Rung:
    """One step with what is said of it and why."""

    step: Step
    standing: Standing
    reason: Finding


@dataclass(frozen=True, slots=True)
class Ladder:
    """All rungs, the mildest first, one of them proposed."""

    rungs: tuple[Rung, ...]

    @property
    def proposed(self) -> Rung:
        """The mildest step that will do."""
        return next(rung for rung in self.rungs if rung.standing is Standing.PROPOSED)


NOTHING = gettext_noop("No %(pest)s was found: look again in a week or two.")
HELD = gettext_noop(
    "%(predators)s natural enemies to %(count)s %(pest)s may hold them: count again within a week."
)
UNDER = gettext_noop("%(count)s %(pest)s are under the threshold of %(threshold)s.")
NO_THRESHOLD = gettext_noop(
    "%(count)s %(pest)s, and no threshold is known: look how they develop before spraying."
)
OVER = gettext_noop("%(count)s %(pest)s are at or over the threshold of %(threshold)s.")
SOON = Counted(
    gettext_noop(
        "%(count)s %(pest)s will reach the threshold of %(threshold)s in about %(days)s days."
    ),
    gettext_noop(
        "%(count)s %(pest)s will reach the threshold of %(threshold)s in about %(days)s day."
    ),
    "days",
)
SEVERE = gettext_noop(
    "%(count)s %(pest)s are more than %(times)s times the threshold of %(threshold)s: contact "
    "sprays alone are too slow."
)
CONTACT_FAILED = gettext_noop("Contact sprays did too little %(failed)s times.")
SELECTIVE_FAILED = gettext_noop("Selective products did too little %(failed)s times.")
ANOTHER_GROUP = gettext_noop(
    "Selective products did too little %(failed)s times: change to another mode-of-action group."
)
WASHING = gettext_noop(
    "A strong jet on leaf undersides takes off many mites and soft insects, and water lessens the "
    "stress that lets them thrive."
)
WATER_FIRST = gettext_noop("The planting is short of water: water it before anything is sprayed.")
CLEANING = gettext_noop(
    "Cut out the worst shoots, take fallen leaves and weeds away, and go easy on nitrogen."
)
RELEASE = gettext_noop("Predators can be released at this level of %(pest)s.")
NO_RELEASE = gettext_noop(
    "No predator fits now: the level, residues on the leaf or the pest stand against it."
)
FLARES_MITES = gettext_noop(
    "Broad products kill the predators, and mites come back in greater numbers."
)
BLOOM = gettext_noop("The planting is in bloom: no broad product, for the sake of bees.")
TOO_HOT = gettext_noop("%(temperature)s °F is too hot for soap or oil today.")
MILDER_DOES = gettext_noop("A milder step will do for now.")
NOT_ENOUGH = gettext_noop("No longer enough by itself.")
LAST = gettext_noop("Only after selective products, and with the label's bee directions.")
COUNT_AGAIN = gettext_noop("Count again before every visit, and stop when the count is under.")

ORDER = tuple(Step)


def propose(situation: Situation) -> Ladder:
    """Return the ladder for a situation, with the mildest step that will do.

    >>> propose(Situation("two-spotted spider mite", 1, 5)).proposed.step.value
    'water and wash'
    >>> propose(Situation("two-spotted spider mite", 8, 5)).proposed.step.value
    'soap or oil'
    """
    step, why = _proposed(situation)
    return Ladder(tuple(_rung(each, step, why, situation) for each in ORDER))


def _proposed(situation: Situation) -> tuple[Step, Finding]:
    if situation.count <= 0:
        return Step.WATCH, _said("nothing-found", NOTHING, situation)
    if situation.is_held_by_predators and not situation.is_severe:
        return Step.WATCH, _said("held-by-predators", HELD, situation)
    if situation.threshold is None:
        return Step.WATER_AND_WASH, _said("no-threshold", NO_THRESHOLD, situation)
    if not situation.is_over:
        step = Step.BENEFICIALS if situation.releasable else Step.WATER_AND_WASH
        return step, _said("under-threshold", UNDER, situation)
    return _spray(situation)


def _spray(situation: Situation) -> tuple[Step, Finding]:
    if situation.selective_failed and _broad_is_open(situation):
        return Step.BROAD, _said("selective-failed", SELECTIVE_FAILED, situation)
    if situation.selective_failed:
        return Step.SELECTIVE, _said("another-group", ANOTHER_GROUP, situation)
    if situation.contact_failed:
        return Step.SELECTIVE, _said("contact-failed", CONTACT_FAILED, situation)
    if situation.is_severe:
        return Step.SELECTIVE, _said("severe", SEVERE, situation)
    if situation.threshold is not None and situation.count < situation.threshold:
        return Step.SOAP_OR_OIL, _said("soon-over-threshold", SOON, situation)
    return Step.SOAP_OR_OIL, _said("over-threshold", OVER, situation)


def _broad_is_open(situation: Situation) -> bool:
    return not situation.is_mite and not situation.in_bloom


def _rung(step: Step, proposed: Step, why: Finding, situation: Situation) -> Rung:
    if step is proposed:
        return Rung(step, Standing.PROPOSED, why)
    if ORDER.index(step) < ORDER.index(proposed):
        return _below(step, proposed, situation)
    if barred := _barred(step, situation):
        return Rung(step, Standing.RULED_OUT, barred)
    if step is Step.BROAD:
        return Rung(step, Standing.NOT_YET, _said("last-resort", LAST, situation))
    return Rung(step, Standing.NOT_YET, _said("milder-does", MILDER_DOES, situation))


def _below(step: Step, proposed: Step, situation: Situation) -> Rung:
    if step is Step.WATER_AND_WASH:
        dry = situation.drought_stressed
        return _along(step, "water-first" if dry else "wash", WATER_FIRST if dry else WASHING)
    if step is Step.CLEAN_UP:
        return _along(step, "clean-up", CLEANING)
    if step is Step.BENEFICIALS:
        if situation.releasable and proposed is not Step.BROAD:
            return _along(step, "release", RELEASE, situation)
        return Rung(step, Standing.RULED_OUT, _said("no-release", NO_RELEASE, situation))
    return Rung(step, Standing.PASSED, _said("not-enough", NOT_ENOUGH, situation))


def _along(step: Step, code: str, sentence: str, situation: Situation | None = None) -> Rung:
    return Rung(step, Standing.ALONG, _said(code, sentence, situation))


def _barred(step: Step, situation: Situation) -> Finding | None:
    if step is Step.BENEFICIALS and not situation.releasable:
        return _said("no-release", NO_RELEASE, situation)
    if step is Step.BROAD and situation.is_mite:
        return _said("flares-mites", FLARES_MITES, situation, "UC-IPM-BEES")
    if step is Step.BROAD and situation.in_bloom:
        return _said("in-bloom", BLOOM, situation)
    return None


def findings_beside(situation: Situation) -> list[Finding]:
    """Return what is to be minded today beside the step that is proposed."""
    findings = [_said("count-again", COUNT_AGAIN, situation)]
    if situation.drought_stressed:
        findings.append(_said("water-first", WATER_FIRST, situation))
    heat = situation.temperature_f
    if heat is not None and heat > OIL_SOAP_HOTTEST_F:
        findings.append(_said("too-hot-for-soap-or-oil", TOO_HOT, situation, "UC-IPM-PN7493"))
    return findings


def _said(
    code: str, sentence: str, situation: Situation | None, source: str = "common practice"
) -> Finding:
    facts = _facts(situation) if situation else {}
    return Finding(code, Severity.NOTE, sentence, "", facts, source)


def _facts(situation: Situation) -> Mapping[str, object]:
    threshold, heat = situation.threshold, situation.temperature_f
    return {
        "pest": as_marked(situation.pest),
        "count": f"{situation.count:g}",
        "predators": f"{situation.predators:g}",
        "threshold": "" if threshold is None else f"{threshold:g}",
        "days": situation.days_to_threshold,
        "times": f"{SEVERE_TIMES:g}",
        "failed": max(situation.contact_failed, situation.selective_failed),
        "temperature": "" if heat is None else f"{heat:g}",
    }

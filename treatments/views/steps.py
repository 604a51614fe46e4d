"""The rungs of the ladder as pages show them: words, reasons, and the way to each step."""

from collections.abc import Iterator
from dataclasses import dataclass
from urllib.parse import urlencode

from django.utils.translation import gettext_lazy as _

from clients.models import Planting
from treatments.laddering import WITHOUT_SPRAY, Steps
from treatments.rules.findings import Finding
from treatments.rules.ladder import Rung, Standing, Step

STEP_WORDS = {
    Step.WATCH: _("watch and count"),
    Step.WATER_AND_WASH: _("water, and wash down"),
    Step.CLEAN_UP: _("clean up"),
    Step.BENEFICIALS: _("release natural enemies"),
    Step.SOAP_OR_OIL: _("soap or oil"),
    Step.SELECTIVE: _("a selective product"),
    Step.BROAD: _("a broad product"),
}
STANDING_WORDS = {
    Standing.PROPOSED: _("proposed"),
    Standing.ALONG: _("along with it"),
    Standing.NOT_YET: _("not yet"),
    Standing.RULED_OUT: _("not here"),
    Standing.PASSED: _("no longer enough"),
}


@dataclass(frozen=True, slots=True)
class RungShown:
    """A rung: what it is, how it stands, why; the step without a spray, or words for a search."""

    step: str
    words: object
    standing: object
    is_proposed: bool
    may_be_taken: bool
    reason: Finding
    without_spray: str
    query: str


def rungs_of(steps: Steps, planting: Planting) -> Iterator[RungShown]:
    """Yield the rungs of a ladder, the mildest first."""
    for rung in steps.ladder.rungs:
        yield _shown(rung, steps, planting)


def _shown(rung: Rung, steps: Steps, planting: Planting) -> RungShown:
    asked = {"pest": steps.pest.pk, "plantings": planting.pk}
    return RungShown(
        step=rung.step.value,
        words=STEP_WORDS[rung.step],
        standing=STANDING_WORDS[rung.standing],
        is_proposed=rung.standing is Standing.PROPOSED,
        may_be_taken=rung.standing in (Standing.PROPOSED, Standing.ALONG),
        reason=rung.reason,
        without_spray=WITHOUT_SPRAY.get(rung.step, ""),
        query=urlencode(asked),
    )

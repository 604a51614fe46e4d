"""What is done with mix that is left over, with the rinse of a tank, and with concentrate.

The label's own words on storage and disposal come first, then local codes.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from treatments.rules.findings import Refused, gettext_noop


class NotBackIntoContainer(Refused):
    """What was mixed with water does not go back into the product's container."""


class Leftover(StrEnum):
    """What may be left when a job is done."""

    MIX = "mix"
    TANK_RINSE = "tank rinse"
    CONCENTRATE = "concentrate"


@dataclass(frozen=True, slots=True)
class Advice:
    """A sentence on what to do, and where it comes from."""

    sentence: str
    source: str


DILUTED = gettext_noop("What was mixed with water never goes back; treat it as leftover mix.")
LABEL_FIRST = Advice(
    gettext_noop("The label's section on storage and disposal comes first, then local codes."),
    "label",
)
# Never to a drain or the ground [IL-RINSING]; the rest is common practice.
_ADVICE: Mapping[Leftover, tuple[Advice, ...]] = MappingProxyType(
    {
        Leftover.MIX: (
            Advice(
                gettext_noop("Spray it on a site its label names, within the label's rate."),
                "common practice",
            ),
            Advice(
                gettext_noop("Never pour it into a drain, a ditch or onto the ground."),
                "IL-RINSING",
            ),
            Advice(
                gettext_noop("Where no site may take it, ask the state agency how to dispose."),
                "common practice",
            ),
            Advice(gettext_noop("Mix little or nothing over; use a mix today."), "common practice"),
        ),
        Leftover.TANK_RINSE: (
            Advice(
                gettext_noop(
                    "Spray the rinse out over what was treated, without passing the label's rate."
                ),
                "common practice",
            ),
            Advice(
                gettext_noop("Never let it run into a drain, a ditch or onto the ground."),
                "IL-RINSING",
            ),
        ),
        Leftover.CONCENTRATE: (
            Advice(
                gettext_noop(
                    "Undiluted concentrate from a dial jar may go back into its own container "
                    "where the label allows; enter it under the same lot."
                ),
                "common practice",
            ),
            Advice(
                gettext_noop(
                    "A jar that was filled up with water holds mix: it never goes back into the "
                    "container."
                ),
                "common practice",
            ),
        ),
    }
)


def advice_on(leftover: Leftover) -> tuple[Advice, ...]:
    """Return what to do with something that is left over; the label comes first.

    >>> advice_on(Leftover.MIX)[0].source
    'label'
    """
    return (LABEL_FIRST, *_ADVICE[leftover])


def refuse_diluted(is_undiluted: bool) -> None:
    """Raise NotBackIntoContainer unless what goes back was never mixed with water.

    >>> refuse_diluted(True)
    """
    if not is_undiluted:
        raise NotBackIntoContainer(DILUTED)

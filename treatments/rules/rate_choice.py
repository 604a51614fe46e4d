"""Which rate is taken where a label gives a range: as asked, or by how heavy the pest is.

A light infestation takes the lowest rate, one of twice the threshold and more the highest: common
practice.  Nothing outside the label's range is ever taken.
"""

from dataclasses import dataclass
from decimal import ROUND_DOWN, Decimal
from enum import StrEnum

from treatments.rules.findings import Finding, Severity, gettext_noop

STEP = Decimal("0.001")  # as rates are kept
HEAVY = 2.0  # times the threshold: common practice

OWN = gettext_noop("%(rate)s %(basis)s, as you chose; the label gives %(lowest)s to %(highest)s.")
LOWEST = gettext_noop("The lowest rate, as asked; the label gives up to %(highest)s %(basis)s.")
MIDDLE = gettext_noop(
    "The middle of what the label gives, %(lowest)s to %(highest)s %(basis)s, as asked."
)
HIGHEST = gettext_noop("The highest rate, as asked; the label begins at %(lowest)s %(basis)s.")
LIGHT = gettext_noop(
    "The lowest rate: the last count does not pass the threshold. The label gives up to "
    "%(highest)s %(basis)s."
)
MODERATE = gettext_noop(
    "The middle of %(lowest)s to %(highest)s %(basis)s: the last count passes the threshold, and "
    "not twice."
)
STRONG = gettext_noop(
    "The highest rate: the last count is %(times)s times the threshold. The label begins at "
    "%(lowest)s %(basis)s."
)
UNCOUNTED = gettext_noop(
    "The lowest rate, as nothing was counted lately against a threshold. The label gives up to "
    "%(highest)s %(basis)s."
)
OUTSIDE = gettext_noop(
    "The label of %(product)s gives %(lowest)s to %(highest)s %(basis)s; %(rate)s is not taken."
)
TAKE_WITHIN = gettext_noop("Choose a rate within the label's range.")


class RateWish(StrEnum):
    """How a rate is chosen within a label's range."""

    BY_COUNT = "by count"
    LOWEST = "lowest"
    MIDDLE = "middle"
    HIGHEST = "highest"


@dataclass(frozen=True, slots=True)
class LabelRange:
    """What a label gives for a product, in its own basis."""

    product: str
    lowest: Decimal
    highest: Decimal
    basis: str

    @property
    def is_range(self) -> bool:
        """Whether there is anything to choose."""
        return self.lowest < self.highest

    def middle(self) -> Decimal:
        """Return the middle of the range, rounded down.

        >>> LabelRange("Soap", Decimal(1), Decimal(2), "fl oz/gal").middle()
        Decimal('1.500')
        """
        return ((self.lowest + self.highest) / 2).quantize(STEP, ROUND_DOWN)

    def holds(self, rate: Decimal) -> bool:
        """Say whether a rate lies in the range; both ends do."""
        return self.lowest <= rate <= self.highest


@dataclass(frozen=True, slots=True)
class ChosenRate:
    """A rate within the label, and why it was taken; nothing where the label gives but one."""

    rate: Decimal
    why: Finding | None = None


def choose_rate(
    label: LabelRange,
    wish: RateWish,
    *,
    times_threshold: float | None = None,
    own: Decimal | None = None,
) -> ChosenRate:
    """Return the rate of a product within its label, with the reason.

    times_threshold: the last count over the threshold; None where nobody counted or knows one
    own: what a person chose; outside the label's range it is not taken, and the reason says so

    >>> soap = LabelRange("Soap", Decimal(1), Decimal(2), "fl oz/gal")
    >>> choose_rate(soap, RateWish.BY_COUNT, times_threshold=3).rate
    Decimal('2')
    """
    if own is not None and not label.holds(own):
        chosen = choose_rate(label, wish, times_threshold=times_threshold)
        return ChosenRate(chosen.rate, _said("rate-outside", OUTSIDE, label, rate=own))
    if not label.is_range:
        return ChosenRate(label.lowest)
    if own is not None:
        return ChosenRate(own, _said("rate-own", OWN, label, rate=own))
    if wish is RateWish.BY_COUNT:
        return _by_count(label, times_threshold)
    rates = {
        RateWish.LOWEST: (label.lowest, LOWEST),
        RateWish.MIDDLE: (label.middle(), MIDDLE),
        RateWish.HIGHEST: (label.highest, HIGHEST),
    }
    rate, sentence = rates[wish]
    return ChosenRate(rate, _said("rate-asked", sentence, label))


def _by_count(label: LabelRange, times: float | None) -> ChosenRate:
    if times is None:
        return ChosenRate(label.lowest, _said("rate-uncounted", UNCOUNTED, label))
    if times >= HEAVY:
        why = _said("rate-by-count", STRONG, label, times=f"{times:.1f}")
        return ChosenRate(label.highest, why)
    if times > 1:
        return ChosenRate(label.middle(), _said("rate-by-count", MODERATE, label))
    return ChosenRate(label.lowest, _said("rate-by-count", LIGHT, label))


def _said(code: str, sentence: str, label: LabelRange, **facts: object) -> Finding:
    told = {
        "product": label.product,
        "lowest": label.lowest,
        "highest": label.highest,
        "basis": label.basis,
    }
    is_refused = code == "rate-outside"
    return Finding(
        code,
        Severity.WARNING if is_refused else Severity.NOTE,
        sentence,
        TAKE_WITHIN if is_refused else "",
        told | facts,
        "label" if is_refused or code == "rate-own" else "common practice",
    )

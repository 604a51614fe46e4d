"""What a change of plan does: a visit that slips, a product used again, an interval shortened."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np
import numpy.typing as npt

from treatments.rules.degree_days import HeatDay, day_reaching
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.population.cautions import few_digits
from treatments.rules.population.course import DRAWS, Band, StageCounts, band_of, run_course
from treatments.rules.population.parameters import OUTDOORS, TWO_SPOTTED, GrowthFactor, Mite
from treatments.rules.population.visits import Treatment

ABOUT_EQUAL = 1.1  # times; this project's choice
BASE = gettext_noop("%(plan)s: about %(mite_days)s mite-days; the others are held against it.")
MORE = gettext_noop(
    "%(plan)s: about %(times)s times the mite-days of %(base)s (%(low)s to %(high)s in four of "
    "five runs)."
)
AS_MANY = gettext_noop("%(plan)s: about as many mite-days as %(base)s.")
FEWER = gettext_noop(
    "%(plan)s: about %(percent)s percent fewer mite-days than %(base)s (%(low)s to %(high)s times "
    "in four of five runs)."
)
LABEL_LATER = gettext_noop(
    "Survivors of %(day)s lay from about %(closes)s on, before the label's %(interval)s days are "
    "over."
)
CHANGE_PRODUCT = gettext_noop(
    "Keep the interval and change the product: one that reaches eggs, or lasts on the leaf."
)
BEYOND_HEAT = gettext_noop("The known temperatures end before the eggs of %(day)s have hatched.")


@dataclass(frozen=True, slots=True)
class Comparison:
    """One plan against the base: its mite-days, their ratio to the base's, and that in words."""

    plan: str
    mite_days: Band
    ratio: Band
    finding: Finding


@dataclass(frozen=True, slots=True)
class RetreatWindow:
    """From when until when the next visit meets hatched mites before they lay; None: not known."""

    opens: date | None
    closes: date | None
    findings: tuple[Finding, ...] = ()


def what_if(
    counts: StageCounts,
    days: Sequence[HeatDay],
    plans: Mapping[str, Sequence[Treatment]],
    *,
    growth: GrowthFactor = OUTDOORS,
    draws: int = DRAWS,
    seed: int = 1,
) -> tuple[Comparison, ...]:
    """Return each plan's mite-days against those of the first, run with the same draws.

    plans: two or more by name, the base first; `slipped` and `repeated` make changed ones

    A ratio holds with its assumptions only, and is never a promise.
    """
    runs = {
        name: run_course(counts, days, treatments, growth=growth, draws=draws, seed=seed).mite_days
        for name, treatments in plans.items()
    }
    base, *_ = runs
    return tuple(
        _compared(name, base, mite_days, mite_days / runs[base]) for name, mite_days in runs.items()
    )


def _compared(
    plan: str, base: str, mite_days: npt.NDArray[np.float64], ratio: npt.NDArray[np.float64]
) -> Comparison:
    band = band_of(ratio)
    facts: dict[str, object] = {
        "plan": plan,
        "base": base,
        "mite_days": few_digits(float(mite_days[0])),
        "times": few_digits(band.expected),
        "low": few_digits(band.low),
        "high": few_digits(band.high),
        "percent": f"{100 * (1 - band.expected):.0f}",
    }
    code, sentence = ("base", BASE) if plan == base else ("about-equal", AS_MANY)
    if band.expected > ABOUT_EQUAL:
        code, sentence = "more-mite-days", MORE
    elif band.expected < 1 / ABOUT_EQUAL:
        code, sentence = "fewer-mite-days", FEWER
    finding = Finding(code, Severity.NOTE, sentence, "", facts, "common practice")
    return Comparison(plan, band_of(mite_days), band, finding)


def retreat_heat(mite: Mite = TWO_SPOTTED) -> tuple[float, float]:
    """Return the heat after a visit at which to come again: hatched, and before they lay.

    For a product without egg kill or residue: from when all eggs have hatched until those that
    hatched right after the visit begin to lay; in degree-days.

    >>> retreat_heat()
    (62.0, 95.0)
    """
    closes = mite.larva_heat + mite.nymph_heat + mite.preoviposition_heat
    return float(mite.egg_heat), float(closes)


def retreat_window(
    treated_on: date, days: Sequence[HeatDay], *, minimum_interval_days: int | None = None
) -> RetreatWindow:
    """Return the days on which to come again after a contact spray without egg kill.

    days: heat by MITE_HEAT from the day of the visit on
    minimum_interval_days: the label's, which no window shortens

    >>> days = [HeatDay(date(2026, 6, n), 15.0, 15.0 * n) for n in range(1, 15)]
    >>> window = retreat_window(date(2026, 6, 1), days)
    >>> window.opens.day, window.closes.day
    (6, 7)
    """
    hatched, laying = (day_reaching(days, heat, since=treated_on) for heat in retreat_heat())
    opens = None if hatched is None else hatched.day + timedelta(days=1)
    closes = None if laying is None else laying.day
    findings = [] if opens else [_finding("beyond-heat", Severity.NOTE, BEYOND_HEAT, treated_on)]
    if opens and closes:
        closes = max(opens, closes)
    if minimum_interval_days is None or opens is None:
        return RetreatWindow(opens, closes, tuple(findings))
    return _not_before_label(treated_on, opens, closes, minimum_interval_days)


def _not_before_label(
    treated_on: date, opens: date, closes: date | None, interval_days: int
) -> RetreatWindow:
    allowed = treated_on + timedelta(days=interval_days)
    if closes is None or allowed <= closes:
        return RetreatWindow(max(opens, allowed), closes)
    facts = {"closes": closes, "interval": interval_days}
    warning = _finding("label-after-window", Severity.WARNING, LABEL_LATER, treated_on, facts)
    return RetreatWindow(allowed, allowed, (warning,))


def _finding(
    code: str,
    severity: Severity,
    sentence: str,
    day: date,
    facts: Mapping[str, object] | None = None,
) -> Finding:
    remedy = CHANGE_PRODUCT if severity is Severity.WARNING else ""
    told: dict[str, object] = {"day": day} | dict(facts or {})
    return Finding(code, severity, sentence, remedy, told, "common practice")

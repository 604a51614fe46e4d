"""How sure a forecast of mites is, in words, and what it leaves out."""

from collections.abc import Sequence

from treatments.rules.degree_days import HeatDay
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.population.parameters import GrowthFactor
from treatments.rules.population.visits import Treatment

CLOSE, ROUGH = 4, 20  # times from the low to the high end of the band; this project's choice
NOTHING_LEFT = 0.01  # a leaf

FAIRLY_SURE = gettext_noop(
    "Fairly sure: at the end four in five of the runs lie between %(low)s and %(high)s."
)
A_ROUGH_GUIDE = gettext_noop(
    "A rough guide: at the end four in five of the runs lie between %(low)s and %(high)s. "
    "Count again before deciding."
)
ONLY_A_DIRECTION = gettext_noop(
    "Only a direction: at the end the runs spread from %(low)s to %(high)s. Count again within "
    "days; do not plan by these figures."
)
LABEL_FIRST = gettext_noop(
    "A forecast is no reason to go below a label's interval, above its number of uses, or to "
    "leave out scouting."
)
NOT_MODELLED = gettext_noop(
    "Predators, mites that move in, rain, the state of the plant and the rest in short days are "
    "left out; the figures hold for two-spotted mites only."
)
NOT_FITTED = gettext_noop(
    "The growth is taken as %(percent)s percent of that in a laboratory; two counts without a "
    "visit between them would tell it for this planting."
)
FELL_UNTREATED = gettext_noop(
    "Without a visit the mites fell between the two counts. They are taken as steady here, since "
    "what held them may not last: count again before treating."
)
HEAT_FORECAST = gettext_noop("%(days)s of %(all)s days rest on forecast temperatures.")
HEAT_FILLED = gettext_noop("%(days)s of %(all)s days rest on temperatures filled from neighbors.")
DOES_NOT_HOLD = gettext_noop(
    "These visits leave the eggs and no residue, and the mites still grow from %(first)s to "
    "%(last)s."
)
SHORTEN_OR_CHANGE = gettext_noop(
    "Treat sooner after the hatch if the label allows it, add a product that reaches eggs, or "
    "choose one that lasts on the leaf."
)


def how_sure(low: float, high: float) -> Finding:
    """Return in words how far apart the ends of a band lie.

    low, high: moving mites a leaf at the end of the forecast

    >>> how_sure(2, 6).code, how_sure(2, 30).code, how_sure(2, 200).code
    ('fairly-sure', 'rough-guide', 'only-a-direction')
    """
    times = max(high, NOTHING_LEFT) / max(low, NOTHING_LEFT)
    code, sentence = "only-a-direction", ONLY_A_DIRECTION
    if times <= CLOSE:
        code, sentence = "fairly-sure", FAIRLY_SURE
    elif times <= ROUGH:
        code, sentence = "rough-guide", A_ROUGH_GUIDE
    facts = {"low": few_digits(low), "high": few_digits(high)}
    return Finding(code, Severity.NOTE, sentence, "", facts, "common practice")


def few_digits(figure: float) -> str:
    """Return a figure as a forecast may be told: two digits that count, and no more.

    >>> few_digits(1234.5), few_digits(12.34), few_digits(0.0456), few_digits(0.001)
    ('1,200', '12', '0.05', '0.00')
    """
    if figure >= 10:
        return f"{float(f'{figure:.2g}'):,.0f}"
    return f"{figure:.1f}" if figure >= 1 else f"{figure:.2f}"


def what_to_mind(days: Sequence[HeatDay], growth: GrowthFactor) -> list[Finding]:
    """Return what stands beside every forecast, and what this one's heat and growth rest on."""
    findings = [
        _note("label-first", LABEL_FIRST, {}, "label"),
        _note("not-modelled", NOT_MODELLED, {}),
    ]
    if not growth.fitted:
        findings.append(_note("not-fitted", NOT_FITTED, {"percent": f"{100 * growth.likely:.0f}"}))
    if growth.likely <= 0:
        findings.append(_note("fell-untreated", FELL_UNTREATED, {}))
    forecast = sum(each.forecast for each in days)
    filled = sum(each.filled for each in days)
    if forecast:
        findings.append(_note("heat-forecast", HEAT_FORECAST, {"days": forecast, "all": len(days)}))
    if filled:
        findings.append(_note("heat-filled", HEAT_FILLED, {"days": filled, "all": len(days)}))
    return findings


def what_worsens(first: float, last: float, treatments: Sequence[Treatment]) -> list[Finding]:
    """Return a warning where nothing but contact sprays without egg kill is used in vain.

    first, last: expected moving mites a leaf at either end
    """
    if not treatments or last <= first:
        return []
    if any(each.kill.egg > 0 or each.kill.residual_days > 0 for each in treatments):
        return []
    facts = {"first": few_digits(first), "last": few_digits(last)}
    return [
        Finding(
            "contact-only-does-not-hold",
            Severity.WARNING,
            DOES_NOT_HOLD,
            SHORTEN_OR_CHANGE,
            facts,
            "common practice",
        )
    ]


def _note(
    code: str, sentence: str, facts: dict[str, object], source: str = "common practice"
) -> Finding:
    return Finding(code, Severity.NOTE, sentence, "", facts, source)

"""A mix as a phone is told it: what it was reckoned from, and what comes of it, tank by tank."""

from typing import Any

from django.conf import settings
from django.utils import translation

from services.mixing import Mixing
from treatments.mixing import SharedMix
from treatments.rules.measuring import Portion
from treatments.rules.tanks import MixPlan
from treatments.rules.units import Measure

Told = dict[str, Any]


def told_mix(mixing: Mixing) -> Told:
    """Return the mix of a stop with all that it was reckoned from; without one, why not."""
    mix = mixing.mix
    return {
        "sprayer": mixing.sprayer.pk if mixing.sprayer else None,
        "calibration": mixing.calibration.pk if mixing.calibration else None,
        "why_not": _in_both(mixing) if mix is None else None,
        "label": _label(mix) if mix else None,
        "plans": [_plan(place, mix) for place in range(len(mix.plans))] if mix else [],
        "product_in_all": _measure(mix.product) if mix else None,
    }


def _in_both(mixing: Mixing) -> Told:
    said = {}
    for language, _name in settings.LANGUAGES:
        with translation.override(language):
            said[language] = mixing.why_not()
    return said


def _label(mix: SharedMix) -> Told:
    return {"lowest": mix.label.lowest, "highest": mix.label.highest, "basis": mix.label.basis}


def _plan(place: int, mix: SharedMix) -> Told:
    plan, asked = mix.plans[place], mix.asked[place]
    facts = asked.facts
    return {
        "inputs": {
            **facts,
            "limits": [{"maximum": each.maximum, "basis": each.basis} for each in facts["limits"]],
            "adjuvants": [
                {
                    "name": each.name,
                    "rate": each.rate,
                    "basis": each.basis,
                    "maximum_rate": each.maximum_rate,
                }
                for each in facts["adjuvants"]
            ],
            "plantings": [
                {"id": each, "gallons_per_1000_sq_ft": output, "gallons": mix.gallons[each]}
                for each, output in asked.outputs.items()
            ],
        },
        "tanks": _tanks(plan),
        "total": _measure(plan.total),
        "total_measured": _measure(plan.total_measured),
        "total_from_store": _measure(plan.total_from_store),
    }


def _tanks(plan: MixPlan) -> list[Told]:
    return [
        {
            "gallons": tank.gallons,
            "water_gallons": tank.water_gallons,
            "product": _portion(tank.product),
            "adjuvants": [_portion(each) for each in tank.adjuvants],
        }
        for tank in plan.tanks
    ]


def _portion(portion: Portion) -> Told:
    return {
        "name": portion.name,
        "exact": _measure(portion.exact),
        "measured": _measure(portion.measured),
        "tool": portion.tool.name,
        "fillings": portion.fillings,
    }


def _measure(measure: Measure) -> Told:
    return {"amount": measure.amount, "unit": measure.unit}

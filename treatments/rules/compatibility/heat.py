"""Heat, cold and damp in which oil, sulfur and soap injure plants.

Not above 90 F for oil, not at or near 90 F for sulfur [UC-IPM-PN7493]; 50 to 85 F for oil
[WSU-OIL]; for soap it is common practice.
"""

from decimal import Decimal
from typing import Any

from treatments.rules.facts import ProductFacts
from treatments.rules.findings import Finding, Marked, Severity, gettext_noop
from treatments.rules.table_files import read_toml

TOO_HOT = gettext_noop(
    "%(temperature)s °F is too hot for %(product)s: %(family)s injures leaves at or near "
    "%(limit)s °F."
)
WAIT_COOLER = gettext_noop("Wait until it is cooler than %(limit)s °F.")
HOT = gettext_noop("%(temperature)s °F is warm for %(product)s (%(family)s); %(limit)s °F is safe.")
COLD = gettext_noop(
    "%(temperature)s °F is cold for %(product)s (%(family)s); wait for %(limit)s °F."
)
EARLIER_OR_LATER = gettext_noop("Choose a cooler hour if there is one.")
WARMER = gettext_noop("Choose a warmer hour; no frost may follow within two days.")
DAMP = gettext_noop(
    "At %(humidity)s percent humidity %(product)s (%(family)s) dries slowly and may injure leaves."
)


def heat_limits(product: ProductFacts) -> list[dict[str, Any]]:
    """Return the limits of each family of a product in °F and percent, for who judges elsewhere.

    stops_at: whether the stop holds at the figure itself; None is no limit
    """
    table = read_toml("heat")
    return [
        {
            "family": family.value,
            "stop": limits.get("stop_above", limits.get("stop_from")),
            "stops_at": "stop_from" in limits,
            "severity": limits["severity"],
            "caution_above": limits.get("caution_above"),
            "caution_below": limits.get("caution_below"),
            "damp_above": limits.get("humidity_caution_above"),
        }
        for family in sorted(product.separation_classes())
        if (limits := table.get(family.value))
    ]


def check_heat(
    product: ProductFacts, temperature_f: Decimal | None, humidity_percent: Decimal | None = None
) -> list[Finding]:
    """Return what the air does to leaves under a product of these families.

    temperature_f: air temperature in degrees Fahrenheit, None when it is not known
    humidity_percent: relative humidity, None when it is not known
    """
    table = read_toml("heat")
    findings = []
    for family in sorted(product.separation_classes()):
        limits = table.get(family.value)
        if limits and temperature_f is not None:
            facts: dict[str, object] = {"product": product.name, "family": Marked(family.value)}
            findings += _temperature(limits, temperature_f, facts)
        if limits and humidity_percent is not None:
            findings += _humidity(limits, humidity_percent, product, family.value)
    return findings


def _temperature(
    limits: dict[str, Any], temperature_f: Decimal, facts: dict[str, object]
) -> list[Finding]:
    facts = facts | {"temperature": temperature_f}
    limit = limits["stop_above"] if "stop_above" in limits else limits["stop_from"]
    if temperature_f > limit or (temperature_f == limit and "stop_from" in limits):
        severity = Severity(limits["severity"])
        facts = facts | {"limit": limit}
        return [Finding("too-hot", severity, TOO_HOT, WAIT_COOLER, facts, limits["stop_source"])]
    return _caution(limits, temperature_f, facts)


def _caution(
    limits: dict[str, Any], temperature_f: Decimal, facts: dict[str, object]
) -> list[Finding]:
    source = limits.get("caution_source", "common practice")
    if "caution_above" in limits and temperature_f > limits["caution_above"]:
        facts = facts | {"limit": limits["caution_above"]}
        return [Finding("warm", Severity.WARNING, HOT, EARLIER_OR_LATER, facts, source)]
    if "caution_below" in limits and temperature_f < limits["caution_below"]:
        facts = facts | {"limit": limits["caution_below"]}
        return [Finding("cold", Severity.WARNING, COLD, WARMER, facts, source)]
    return []


def _humidity(
    limits: dict[str, Any], humidity_percent: Decimal, product: ProductFacts, family: str
) -> list[Finding]:
    limit = limits.get("humidity_caution_above")
    if limit is None or humidity_percent <= limit:
        return []
    facts = {"product": product.name, "family": Marked(family), "humidity": humidity_percent}
    return [Finding("damp", Severity.WARNING, DAMP, "", facts, "common practice")]

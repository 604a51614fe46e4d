"""Which respirator a label asks for, by its parts.

An organic-vapour cartridge stops vapour, a particulate filter stops droplets and dust; neither
does the work of the other [UMAINE-RPD].  Filters are N (no oil), R (some oil) or P (oil), HE on
powered units [PRN-98-9].  Older labels name an approval prefix under which the same parts are no
longer approved: compare parts, not prefixes [PRN-98-9].
"""

import re
from collections.abc import Sequence

from treatments.rules.facts import ProductFacts, RespiratorNeed, SeparationClass
from treatments.rules.findings import Finding, Marked, Severity, gettext_noop
from treatments.rules.table_files import read_toml

APPROVAL = re.compile(r"\bTC[- ]?(\d\d[A-Z])\b")
OIL_PROOF = frozenset({"R", "P", "HE"})

NEEDS_BOTH = gettext_noop(
    "Respirator: organic-vapor cartridge together with a particulate filter of class %(classes)s."
)
NEEDS_VAPOUR = gettext_noop("Respirator: organic-vapor cartridge.")
NEEDS_FILTER = gettext_noop("Respirator: particulate filter of class %(classes)s.")
NEEDS_AIR = gettext_noop("Respirator: supplied air or self-contained breathing apparatus.")
FIT = gettext_noop(
    "Wear it only after medical evaluation, fit test and training, all parts of one approval."
)
NO_CLASS_SUITS = gettext_noop("No class of filter suits all products of this job.")
APPLY_APART = gettext_noop("Apply the products on different days.")
PREFIX = gettext_noop("%(prefix)s covers: %(about)s. Look at the parts, not at the prefix.")


def respirator_needed(products: Sequence[ProductFacts]) -> RespiratorNeed:
    """Return the parts that satisfy the labels of all products; oil takes class N away.

    >>> respirator_needed([]).needs_particulate
    False
    """
    needs = [product.respirator for product in products]
    classes = RespiratorNeed().filter_classes
    for need in needs:
        if need.needs_particulate:
            classes &= need.filter_classes
    if any(SeparationClass.OIL in product.separation_classes() for product in products):
        classes &= OIL_PROOF
    return RespiratorNeed(
        needs_organic_vapour=any(need.needs_organic_vapour for need in needs),
        needs_particulate=any(need.needs_particulate for need in needs),
        filter_classes=classes,
        needs_supplied_air=any(need.needs_supplied_air for need in needs),
    )


def describe_respirator(need: RespiratorNeed) -> list[Finding]:
    """Return what a crew is told to wear, or nothing where no label asks for a respirator.

    A refusal where no class of filter suits, as where a label of an oil names class N alone.
    """
    if need.needs_particulate and not need.filter_classes:
        refusal = Severity.REFUSAL
        return [_finding("no-filter-suits", refusal, NO_CLASS_SUITS, APPLY_APART, need)]
    if need.needs_supplied_air:
        sentence = NEEDS_AIR
    elif need.needs_organic_vapour and need.needs_particulate:
        sentence = NEEDS_BOTH
    elif need.needs_organic_vapour:
        sentence = NEEDS_VAPOUR
    elif need.needs_particulate:
        sentence = NEEDS_FILTER
    else:
        return []
    return [_finding("respirator", Severity.NOTE, sentence, FIT, need)]


def describe_approval(number: str) -> list[Finding]:
    """Return a note on what the prefix of an approval number covers, or nothing for an unknown one.

    number: as somebody typed it, perhaps among other words

    >>> [note.facts["prefix"] for note in describe_approval("half mask, tc 23c-0000")]
    ['TC-23C']
    """
    typed = APPROVAL.search(number.upper())
    prefix = f"TC-{typed[1]}" if typed else ""
    row = read_toml("respirators")["prefixes"].get(prefix)
    if row is None:
        return []
    facts = {"prefix": prefix, "about": Marked(row["about"])}
    return [Finding("respirator-prefix", Severity.NOTE, PREFIX, "", facts, "PRN-98-9")]


def _finding(
    code: str, severity: Severity, sentence: str, remedy: str, need: RespiratorNeed
) -> Finding:
    facts = {"classes": "/".join(sorted(need.filter_classes))}
    return Finding(code, severity, sentence, remedy, facts, "PRN-98-9")

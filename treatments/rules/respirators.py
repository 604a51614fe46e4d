"""Which respirator a label asks for, by its parts.

An organic-vapour cartridge stops vapour, a particulate filter stops droplets and dust; neither
does the work of the other [UMAINE-RPD].  Filters are N (no oil), R (some oil) or P (oil), HE on
powered units [PRN-98-9].  Older labels name an approval prefix under which the same parts are no
longer approved: compare parts, not prefixes [PRN-98-9].
"""

from collections.abc import Sequence
from dataclasses import dataclass

from treatments.rules.facts import ProductFacts, RespiratorNeed, SeparationClass
from treatments.rules.findings import Finding, Marked, Severity, gettext_noop
from treatments.rules.table_files import read_toml

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
NO_VAPOUR = gettext_noop("This respirator stops particles, not vapor; the label asks for both.")
NO_VAPOUR_ONLY = gettext_noop("This respirator stops no vapor; the label asks for that.")
ADD_CARTRIDGE = gettext_noop("Wear an organic-vapor cartridge of the same approval.")
NO_FILTER = gettext_noop("This respirator has no particulate filter; the label asks for one.")
ADD_FILTER = gettext_noop("Add a filter of class %(classes)s of the same approval.")
WRONG_CLASS = gettext_noop("A filter of class %(worn)s is worn; %(classes)s is asked for.")
NO_CLASS_SUITS = gettext_noop("No class of filter suits all products of this job.")
APPLY_APART = gettext_noop("Apply the products on different days.")
NO_AIR = gettext_noop("The label asks for supplied air; no filter or cartridge replaces it.")
PREFIX = gettext_noop("%(prefix)s covers: %(about)s. Look at the parts, not at the prefix.")


@dataclass(frozen=True, slots=True)
class Respirator:
    """What a person has on: its parts, and the approval prefix for the record."""

    organic_vapour: bool = False
    filter_class: str = ""  # N, R, P or HE; "" without a filter
    supplied_air: bool = False
    approval_prefix: str = ""


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
        return [_refusal("no-filter-suits", NO_CLASS_SUITS, APPLY_APART, need)]
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


def check_respirator(need: RespiratorNeed, worn: Respirator) -> list[Finding]:
    """Return a refusal for each part that is asked for and not worn.

    need: of the labels of all products of the job, from `respirator_needed`
    worn: the parts of the respirator, whatever the prefix of its approval
    """
    if need.needs_particulate and not need.filter_classes:
        return [_refusal("no-filter-suits", NO_CLASS_SUITS, APPLY_APART, need)]
    if worn.supplied_air:
        return []
    if need.needs_supplied_air:
        return [_refusal("no-supplied-air", NO_AIR, "", need)]
    return _vapour(need, worn) + _particles(need, worn)


def _vapour(need: RespiratorNeed, worn: Respirator) -> list[Finding]:
    if not need.needs_organic_vapour or worn.organic_vapour:
        return []
    sentence = NO_VAPOUR if need.needs_particulate else NO_VAPOUR_ONLY
    return [_refusal("no-vapour-cartridge", sentence, ADD_CARTRIDGE, need)]


def _particles(need: RespiratorNeed, worn: Respirator) -> list[Finding]:
    if not need.needs_particulate:
        return []
    if not worn.filter_class:
        return [_refusal("no-particulate-filter", NO_FILTER, ADD_FILTER, need)]
    if worn.filter_class not in need.filter_classes:
        return [
            _refusal("wrong-filter-class", WRONG_CLASS, ADD_FILTER, need, worn=worn.filter_class)
        ]
    return []


def describe_prefix(prefix: str) -> list[Finding]:
    """Return a note on what an approval prefix covers, or nothing for an unknown one."""
    row = read_toml("respirators")["prefixes"].get(prefix)
    if row is None:
        return []
    facts = {"prefix": prefix, "about": Marked(row["about"])}
    return [Finding("respirator-prefix", Severity.NOTE, PREFIX, "", facts, "PRN-98-9")]


def _refusal(
    code: str, sentence: str, remedy: str, need: RespiratorNeed, **others: object
) -> Finding:
    return _finding(code, Severity.REFUSAL, sentence, remedy, need, **others)


def _finding(
    code: str,
    severity: Severity,
    sentence: str,
    remedy: str,
    need: RespiratorNeed,
    **others: object,
) -> Finding:
    facts = {"classes": "/".join(sorted(need.filter_classes)), **others}
    return Finding(code, severity, sentence, remedy, facts, "PRN-98-9")

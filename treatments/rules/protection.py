"""What a crew wears: what the labels ask for, all of it, and never less.

Several products on one job take the union of their equipment, since each label binds.  The table
by toxicity category [40CFR156-212] only serves to notice a copy that looks incomplete.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from treatments.rules.facts import ProductFacts, SignalWord
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.table_files import read_toml

LOOKS_INCOMPLETE = gettext_noop(
    "%(product)s says %(word)s, and its label copy names none of: gloves, eyewear, respirator."
)
COMPARE = gettext_noop("Compare the copy with the label; the label decides.")


class ProtectionUnknown(ValueError):
    """The code names no piece of protective equipment."""


@dataclass(frozen=True, slots=True)
class Item:
    """A piece of protective equipment: where it is worn, and what it replaces there."""

    code: str
    name: str
    place: str
    rank: int = 0  # the higher of a place replaces the lower; equals are worn together


ITEMS: dict[str, Item] = {
    item.code: item
    for item in [
        Item(
            "long-sleeves-and-trousers",
            gettext_noop("long-sleeved shirt and long trousers"),
            "body",
            1,
        ),
        Item(
            "coveralls-over-short-sleeves",
            gettext_noop("coveralls over short-sleeved shirt and short trousers"),
            "body",
            2,
        ),
        Item(
            "coveralls-over-long-sleeves",
            gettext_noop("coveralls over long-sleeved shirt and long trousers"),
            "body",
            3,
        ),
        Item("chemical-resistant-suit", gettext_noop("chemical-resistant suit"), "suit"),
        Item("chemical-resistant-apron", gettext_noop("chemical-resistant apron"), "apron"),
        Item("shoes-and-socks", gettext_noop("shoes and socks"), "feet", 1),
        Item(
            "chemical-resistant-footwear",
            gettext_noop("chemical-resistant footwear and socks"),
            "feet",
            2,
        ),
        Item("waterproof-gloves", gettext_noop("waterproof gloves"), "hands"),
        Item("chemical-resistant-gloves", gettext_noop("chemical-resistant gloves"), "hands"),
        Item("protective-eyewear", gettext_noop("protective eyewear"), "eyes", 1),
        Item("goggles", gettext_noop("goggles"), "eyes", 2),
        Item("face-shield", gettext_noop("face shield"), "face"),
        Item("chemical-resistant-headgear", gettext_noop("chemical-resistant headgear"), "head"),
        Item("respirator", gettext_noop("respirator as the label names it"), "breath"),
    ]
}


def protection_items(codes: Sequence[str]) -> list[Item]:
    """Return the pieces that codes name.  Raise ProtectionUnknown for one that names none.

    >>> [item.name for item in protection_items(["goggles"])]
    ['goggles']
    """
    unknown = [code for code in codes if code not in ITEMS]
    if unknown:
        raise ProtectionUnknown(f"{unknown[0]!r} names no piece of protective equipment.")
    return [ITEMS[code] for code in codes]


def protection_needed(products: Sequence[ProductFacts]) -> list[Item]:
    """Return what to wear for all products together, head to foot as the list of items goes.

    The baseline of every occupational product is always in it [EPA-LRT-PPE]; of two pieces for
    one place the more protective replaces the other.
    """
    codes = set(read_toml("toxicity")["protection"]["baseline"])
    for product in products:
        codes.update(item.code for item in protection_items(product.protective_equipment))
        if _needs_respirator(product):
            codes.add("respirator")
    worn = [item for item in ITEMS.values() if item.code in codes]
    highest = {place: max(i.rank for i in worn if i.place == place) for place in _places(worn)}
    return [item for item in worn if item.rank == highest[item.place]]


def _places(items: Sequence[Item]) -> set[str]:
    return {item.place for item in items}


def _needs_respirator(product: ProductFacts) -> bool:
    need = product.respirator
    return need.needs_organic_vapour or need.needs_particulate or need.needs_supplied_air


def protection_by_category(dermal: str, eye: str, inhalation: str) -> frozenset[str]:
    """Return the codes that toxicity categories "I" to "IV" give [40CFR156-212].

    For comparing only: the label's own statement is what binds.

    >>> "respirator" in protection_by_category("III", "IV", "II")
    True
    """
    table = read_toml("toxicity")["protection"]
    rows = [table["dermal"][dermal], table["eye"][eye], table["inhalation"][inhalation]]
    return frozenset(code for row in rows for code in row)


def check_protection(product: ProductFacts) -> list[Finding]:
    """Return a note where a strong signal word stands beside a bare list of equipment.

    DANGER and WARNING mean category I or II by some route [40CFR156-64], and each route of those
    categories asks for gloves, eyewear or a respirator [40CFR156-212].
    """
    strong = {SignalWord.DANGER, SignalWord.DANGER_POISON, SignalWord.WARNING}
    places = _places(protection_items(product.protective_equipment))
    if product.signal_word not in strong or _needs_respirator(product):
        return []
    if places & {"hands", "eyes", "face", "breath"}:
        return []
    facts = {"product": product.name, "word": product.signal_word.value}
    return [
        Finding("protection-odd", Severity.NOTE, LOOKS_INCOMPLETE, COMPARE, facts, "40CFR156-212")
    ]

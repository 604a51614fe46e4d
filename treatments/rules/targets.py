"""Whether an active ingredient is known to hold a pest, by the table of actives.

A label's site tells what may be treated, not what the treatment does.  Where the table does not
know an ingredient, nothing is said; where it says that mites increase after it, it holds no mites.
"""

from collections.abc import Iterable

from treatments.rules.table_files import read_json

HOLDS = ("controls", "suppression")
INCREASES = "flares"


def holds(active: str, pest: str, *, is_mite: bool = False) -> bool | None:
    """Say whether an active ingredient holds a pest; None where the table does not know it.

    active: its common name, as in the table
    pest: its common name

    >>> holds("hexythiazox", "two-spotted spider mite", is_mite=True)
    True
    >>> holds("imidacloprid", "two-spotted spider mite", is_mite=True)
    False
    >>> holds("imidacloprid", "azalea lace bug"), holds("an unknown one", "azalea lace bug")
    (True, None)
    """
    row = next((row for row in read_json("actives") if row["common_name"] == active), None)
    if row is None:
        return None
    activity = row["spider_mite_activity"]
    if is_mite and INCREASES in activity:
        return False
    if is_mite and "spider" in pest.casefold():
        return activity.startswith(HOLDS)
    return any(_is_named(target, pest.casefold()) for target in row["targets"])


def may_hold(actives: Iterable[str], pest: str, *, is_mite: bool = False) -> bool:
    """Say whether one of a product's ingredients holds a pest, or may: the table knows it not.

    >>> may_hold(["captan"], "azalea lace bug"), may_hold(["an unknown one"], "azalea lace bug")
    (False, True)
    """
    return any(holds(active, pest, is_mite=is_mite) is not False for active in actives)


def _is_named(target: str, pest: str) -> bool:
    """Say whether a pest is one of a kind; a kind's stage, such as scale crawlers, counts too."""
    return target.removesuffix("s") in pest or target.startswith(f"{pest.split()[-1]} ")

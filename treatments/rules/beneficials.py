"""When predators can be released: few enough pests, residues gone, and air that suits them.

What residues do to natural enemies is classed by the University of California [UC-IPM-BEES]; the
days to wait are common practice.  The supplier's own advice comes first.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from treatments.rules.facts import Applied, PastApplication, ProductFacts
from treatments.rules.findings import Counted, Finding, Marked, Severity, as_marked, gettext_noop
from treatments.rules.table_files import read_toml

UNKNOWN_WAIT_DAYS = 28  # for an ingredient that the table does not know; this project's choice
GUARDED_DAYS = 42  # after a release; this project's choice

RESIDUE_LEFT = Counted(
    gettext_noop(
        "%(product)s of %(day)s harms %(beneficial)s for about %(days)s days: not before %(opens)s."
    ),
    gettext_noop(
        "%(product)s of %(day)s harms %(beneficial)s for about %(days)s day: not before %(opens)s."
    ),
    "days",
)
RESIDUE_UNKNOWN = gettext_noop(
    "How long %(product)s of %(day)s harms %(beneficial)s is not known; %(days)s days are taken."
)
ASK_SUPPLIER = gettext_noop("Ask the supplier of the predators before ordering.")
TOO_MANY = gettext_noop(
    "%(count)s %(pest)s a leaf are too many for %(beneficial)s alone; it is released at up to "
    "%(limit)s."
)
KNOCK_DOWN = gettext_noop("Wash or use soap or oil first, and release when the spray is dry.")
TOO_FEW = gettext_noop("%(count)s %(pest)s a leaf: %(beneficial)s would starve; keep counting.")
RIGHT_LEVEL = gettext_noop("%(count)s %(pest)s a leaf suit a release of %(beneficial)s.")
TOO_HOT = gettext_noop(
    "%(temperature)s °F: from %(limit)s °F on %(beneficial)s falls behind the pest."
)
NOT_AT_BEST = gettext_noop(
    "%(temperature)s °F: %(beneficial)s does best from %(least)s to %(most)s °F."
)
TOO_DRY = gettext_noop("%(humidity)s percent humidity: %(beneficial)s wants %(limit)s or more.")
SPOILS_RELEASE = gettext_noop(
    "%(product)s on %(day)s would kill the %(beneficial)s released on %(released)s."
)
SOFTER = gettext_noop("Choose soap, oil or another product that spares predators.")


@dataclass(frozen=True, slots=True)
class Beneficial:
    """A predator that can be bought: against what, at which levels, in what air.

    release_from, release_most: pests a leaf; temperatures in degrees Fahrenheit
    """

    name: Marked
    against: tuple[str, ...]
    release_from: float
    release_most: float
    level_source: str
    best_from_f: float
    best_to_f: float
    too_hot_f: float
    humidity_least: float
    climate_source: str


@dataclass(frozen=True, slots=True)
class Air:
    """The air to come, as far as it is known: mean day temperature and humidity."""

    temperature_f: float | None = None
    humidity_percent: float | None = None


@dataclass(frozen=True, slots=True)
class ReleaseWindow:
    """From when a predator can be released, whether the pest is at a level for it, and why."""

    beneficial: Beneficial
    opens: date
    suits: bool
    findings: tuple[Finding, ...]


def beneficials_against(pest: str) -> tuple[Beneficial, ...]:
    """Return the predators known against a pest by its common name.

    >>> [each.name for each in beneficials_against("spruce spider mite")]
    ['Neoseiulus fallacis']
    """
    name = pest.strip().casefold()
    rows = read_toml("beneficials")["beneficial"]
    return tuple(
        Beneficial(**(row | {"name": Marked(row["name"]), "against": tuple(row["against"])}))
        for row in rows
        if name in row["against"]
    )


def predators_against(pest: str) -> Marked:
    """Return the names of the predators known against a pest, or a word for all of them.

    >>> predators_against("two-spotted spider mite")
    'Phytoseiulus persimilis, Neoseiulus fallacis'
    """
    names = [each.name for each in beneficials_against(pest)]
    return Marked(", ".join(names)) if names else gettext_noop("natural enemies")


def days_to_wait(product: ProductFacts) -> int | None:
    """Return the days from a product to a release, the longest of its ingredients.

    None where one of them is not in the table.
    """
    rows = [_wait_of(ingredient.name) for ingredient in product.ingredients]
    if not rows or any(row is None for row in rows):
        return None
    return max(row["days"] for row in rows if row)


def harms_for_long(product: ProductFacts) -> bool:
    """Say whether a product's residue harms natural enemies for long [UC-IPM-BEES]."""
    rows = [_wait_of(ingredient.name) for ingredient in product.ingredients]
    return any(row is not None and row["impact"] == "long" for row in rows)


def _wait_of(active: str) -> Mapping[str, Any] | None:
    name = active.casefold()
    for row in read_toml("beneficials")["wait"]:
        if any(known in name for known in row["actives"]):
            return dict(row)
    return None


def release_window(
    beneficial: Beneficial,
    pest: str,
    pests_per_leaf: float,
    history: Sequence[PastApplication],
    today: date,
    air: Air | None = None,
) -> ReleaseWindow:
    """Return when a predator can be released on a planting.

    pests_per_leaf: moving pests a leaf, as counted last
    history: what was applied on the planting, a year back
    """
    residues = [_residue(beneficial.name, past) for past in history]
    opens = max([today, *(day for day, _ in residues)])
    level, suits = _level(beneficial, pest, pests_per_leaf)
    told = [finding for day, finding in residues if day > today]
    return ReleaseWindow(
        beneficial, opens, suits, (level, *told, *_climate(beneficial, air or Air()))
    )


def _residue(predators: Marked, past: Applied) -> tuple[date, Finding]:
    known = days_to_wait(past.product)
    days = UNKNOWN_WAIT_DAYS if known is None else known
    opens = past.day + timedelta(days=days)
    code = "residue-left" if known is not None else "residue-unknown"
    sentence: Marked = RESIDUE_LEFT if known is not None else RESIDUE_UNKNOWN
    facts: dict[str, object] = {
        "product": past.product.name,
        "day": past.day.isoformat(),
        "beneficial": predators,
        "days": days,
        "opens": opens.isoformat(),
    }
    finding = Finding(code, Severity.WARNING, sentence, ASK_SUPPLIER, facts, "common practice")
    return opens, finding


def _level(beneficial: Beneficial, pest: str, per_leaf: float) -> tuple[Finding, bool]:
    facts: dict[str, object] = {
        "pest": as_marked(pest),
        "count": f"{per_leaf:g}",
        "beneficial": Marked(beneficial.name),
        "limit": f"{beneficial.release_most:g}",
    }
    source = beneficial.level_source
    if per_leaf > beneficial.release_most:
        finding = Finding(
            "too-many-to-release", Severity.WARNING, TOO_MANY, KNOCK_DOWN, facts, source
        )
        return finding, False
    if per_leaf < beneficial.release_from:
        return Finding("too-few-to-release", Severity.NOTE, TOO_FEW, "", facts, source), False
    return Finding("right-to-release", Severity.NOTE, RIGHT_LEVEL, "", facts, source), True


def _climate(beneficial: Beneficial, air: Air) -> Iterable[Finding]:
    facts: dict[str, object] = {"beneficial": Marked(beneficial.name)}
    temperature, humidity, source = (
        air.temperature_f,
        air.humidity_percent,
        beneficial.climate_source,
    )
    if temperature is not None and temperature >= beneficial.too_hot_f:
        told = facts | {"temperature": f"{temperature:g}", "limit": f"{beneficial.too_hot_f:g}"}
        yield Finding("too-hot-to-release", Severity.WARNING, TOO_HOT, "", told, source)
    elif temperature is not None and not (
        beneficial.best_from_f <= temperature <= beneficial.best_to_f
    ):
        told = facts | {
            "temperature": f"{temperature:g}",
            "least": f"{beneficial.best_from_f:g}",
            "most": f"{beneficial.best_to_f:g}",
        }
        yield Finding("not-at-its-best", Severity.NOTE, NOT_AT_BEST, "", told, source)
    if humidity is not None and humidity < beneficial.humidity_least:
        told = facts | {"humidity": f"{humidity:g}", "limit": f"{beneficial.humidity_least:g}"}
        yield Finding("too-dry-to-release", Severity.NOTE, TOO_DRY, "", told, source)


def check_release(predators: Marked, day: date, applications: Sequence[Applied]) -> list[Finding]:
    """Return a warning for each residue that a release would meet on its planting.

    applications: kept by this book, taken over from elsewhere, and planned; what follows the
        release is left to `check_after_release`
    """
    residues = [_residue(predators, each) for each in applications if each.day <= day]
    return [finding for opens, finding in residues if opens > day]


def check_after_release(
    predators: Marked, released_on: date, applications: Sequence[Applied]
) -> list[Finding]:
    """Return a warning for each product within six weeks that harms a released predator for long.

    applications: planned or kept, on the planting of the release
    """
    last = released_on + timedelta(days=GUARDED_DAYS)
    return [
        Finding(
            "spoils-release",
            Severity.WARNING,
            SPOILS_RELEASE,
            SOFTER,
            {
                "product": each.product.name,
                "day": each.day.isoformat(),
                "beneficial": predators,
                "released": released_on.isoformat(),
            },
            "UC-IPM-BEES",
            getattr(each, "week", None),
        )
        for each in applications
        if released_on <= each.day <= last and harms_for_long(each.product)
    ]

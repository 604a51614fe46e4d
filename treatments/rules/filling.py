"""How a tank is filled: what goes in after what, as numbered steps.

The label's own mixing instructions come first.  Without them the formulation decides, through a
table of ranks from [WALES-PATROL] and [MANITOBA-MIXING], where [SDSU-MIXING] differs in part.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum
from types import MappingProxyType
from typing import Any

from treatments.rules.findings import Refused, filled, gettext_noop
from treatments.rules.table_files import read_toml
from treatments.rules.units import Measure, Number, Unit, as_decimal, positive

SLURRY_RANKS = range(20, 30)
PACKET_RANK = 10
SETTLING_RANKS = range(20, 50)
RINSES = 3  # [IL-RINSING]
SMALL_CONTAINER_GALLONS = 5  # [MT-RINSING]
NO_PLACE = gettext_noop(
    "%(formulation)s has no place in a tank; take its place from the label's instructions."
)


class NoPlaceInTank(Refused):
    """The table knows no place for a formulation, and the product names none of its own."""


class Role(StrEnum):
    """What goes into a tank beside pesticides."""

    WATER_CONDITIONER = "water conditioner"
    COMPATIBILITY_AGENT = "compatibility agent"
    OIL = "oil"
    SURFACTANT = "surfactant"
    DRIFT_AGENT = "drift agent"


@dataclass(frozen=True, slots=True)
class Ingredient:
    """One thing that goes into the tank.

    formulation: a code such as "WG", "WP-SB" for a soluble bag, or a Role
    mixing_rank: the place the label gives it; None leaves it to the table
    """

    name: str
    formulation: str
    measured: Measure
    mixing_rank: int | None = None
    needs_agitation: bool = False


@dataclass(frozen=True, slots=True)
class Step:
    """One numbered step: a template with %(name)s places, and what fills them."""

    number: int
    sentence: str
    facts: Mapping[str, object] = field(default_factory=lambda: MappingProxyType({}))

    def say(self, translate: Callable[[str], str] = str) -> str:
        """Return the step's sentence in the language of `translate`.

        >>> Step(1, "Add %(amount)s.", {"amount": "6 fl oz"}).say()
        'Add 6 fl oz.'
        """
        return filled(self.sentence, self.facts, translate)


def _ranks() -> dict[str, int]:
    table: dict[str, Any] = read_toml("filling_order")
    codes = {code: group["rank"] for group in table["groups"] for code in group["codes"]}
    return codes | table["roles"]


def rank_of(formulation: str, mixing_rank: int | None = None) -> int:
    """Return when something goes into the tank, the lowest first.

    formulation: a code of [CROPLIFE-TM2], with "-SB" for a soluble bag, or a Role
    mixing_rank: the product's own, from its label, which is taken as it is

    Raise NoPlaceInTank for a formulation that is not mixed with water.

    >>> rank_of("WG") < rank_of("SC") < rank_of("EC") < rank_of("SL") < rank_of("surfactant")
    True
    """
    if mixing_rank is not None:
        return mixing_rank
    ranks = _ranks()
    code = "SB" if formulation.endswith("-SB") else str(formulation)
    if code not in ranks:
        raise NoPlaceInTank(NO_PLACE, formulation=str(formulation))
    return ranks[code]


def filling_order(ingredients: Iterable[Ingredient]) -> list[Ingredient]:
    """Return what goes into the tank, in order; equals keep the order they came in.

    >>> oil = Ingredient("oil", "EC", Measure(Decimal(4), Unit.FLUID_OUNCE))
    >>> sulfur = Ingredient("sulfur", "WG", Measure(Decimal(30), Unit.GRAM))
    >>> [ingredient.name for ingredient in filling_order([oil, sulfur])]
    ['sulfur', 'oil']
    """
    return sorted(ingredients, key=lambda each: rank_of(each.formulation, each.mixing_rank))


def filling_steps(
    *,
    gallons: Number,
    water_gallons: Number,
    ingredients: Sequence[Ingredient],
    has_agitator: bool,
) -> list[Step]:
    """Return the numbered steps that fill one tank.

    gallons: finished spray in the tank; water_gallons: all the water that goes in
    ingredients: product and adjuvants with their measured amounts, in any order
    has_agitator: whether the sprayer stirs by itself

    Half of the water first [WALES-PATROL]; liquids are shaken before measuring and water tops
    up the tank [MANITOBA-MIXING]; shaking a tank without agitator is common practice.

    >>> oil = Ingredient("oil", "EC", Measure(Decimal(4), Unit.FLUID_OUNCE))
    >>> steps = filling_steps(gallons=4, water_gallons=Decimal("3.97"), ingredients=[oil],
    ...                       has_agitator=False)
    >>> steps[4].say()
    'Shake the container of oil, measure 4 fl oz and pour it in.'
    """
    water = Measure(as_decimal(positive("The water", water_gallons)), Unit.GALLON)
    half = Measure(as_decimal(positive("The water", water_gallons) / 2), Unit.GALLON)
    total = Measure(as_decimal(positive("The tank", gallons)), Unit.GALLON)
    sentences = [
        *_opening(half, has_agitator),
        *_adding(filling_order(ingredients), has_agitator),
        *_closing(total, water, ingredients, has_agitator),
    ]
    return [Step(number, *sentence) for number, sentence in enumerate(sentences, 1)]


_Sentence = tuple[str, Mapping[str, object]]
_NOTHING: Mapping[str, object] = MappingProxyType({})


def _opening(half: Measure, has_agitator: bool) -> list[_Sentence]:
    return [
        (
            gettext_noop("Read the label's mixing instructions; they come before these steps."),
            _NOTHING,
        ),
        (
            gettext_noop("Put on what the label asks of the mixer before opening a container."),
            _NOTHING,
        ),
        (
            gettext_noop("Pour in %(gallons)s gal of clean water, half of what goes in."),
            {"gallons": half.shown()},
        ),
        (_start_stirring(has_agitator), _NOTHING),
    ]


def _start_stirring(has_agitator: bool) -> str:
    if has_agitator:
        return gettext_noop("Start the agitator and let it run.")
    return gettext_noop("Close and shake the tank after each thing that goes in.")


def _adding(ordered: Sequence[Ingredient], has_agitator: bool) -> list[_Sentence]:
    return [
        (
            _how_to_add(ingredient, has_agitator),
            {"amount": str(ingredient.measured), "product": ingredient.name},
        )
        for ingredient in ordered
    ]


def _how_to_add(ingredient: Ingredient, has_agitator: bool) -> str:
    # What it is decides how it is handled; the label's own rank only moves it.
    rank = _ranks().get(ingredient.formulation, 0)
    if ingredient.formulation.endswith("-SB") or rank == PACKET_RANK:
        return gettext_noop(
            "Drop in %(product)s, %(amount)s in unopened packets; wait until they have dissolved."
        )
    if rank in SLURRY_RANKS:
        return gettext_noop(
            "Weigh %(amount)s of %(product)s, stir it to a slurry with water and pour it in slowly."
        )
    if rank in SETTLING_RANKS and not has_agitator:
        return gettext_noop(
            "Shake the container of %(product)s, measure %(amount)s, stir it in water, pour it in."
        )
    return gettext_noop("Shake the container of %(product)s, measure %(amount)s and pour it in.")


def _closing(
    total: Measure, water: Measure, ingredients: Sequence[Ingredient], has_agitator: bool
) -> list[_Sentence]:
    return [
        (gettext_noop("Rinse the measures and pour the rinse water into the tank."), _NOTHING),
        (
            gettext_noop("Top up to %(gallons)s gal; that is %(water)s gal of water in all."),
            {"gallons": total.shown(), "water": water.shown()},
        ),
        (_keep_stirring(ingredients, has_agitator), _NOTHING),
    ]


def _keep_stirring(ingredients: Sequence[Ingredient], has_agitator: bool) -> str:
    if has_agitator:
        return gettext_noop("Keep the agitator running until the tank is empty; use it today.")
    if any(each.needs_agitation or _settles(each) for each in ingredients):
        return gettext_noop("Shake the tank again between plants; use the mix today.")
    return gettext_noop("Shake the tank before spraying; use the mix today.")


def _settles(ingredient: Ingredient) -> bool:
    is_packet = ingredient.formulation.endswith("-SB")
    return is_packet or _ranks().get(ingredient.formulation, 0) in SETTLING_RANKS


def rinse_water_gallons(container_gallons: Number) -> Decimal:
    """Return the water of a triple rinse, in US gallons; it goes into the tank as water.

    container_gallons: what the emptied container holds

    A quarter of a container under five gallons, a fifth of others, three times [MT-RINSING].

    >>> rinse_water_gallons(1)
    Decimal('0.75')
    """
    holds = positive("The container", container_gallons)
    parts = 4 if holds < SMALL_CONTAINER_GALLONS else 5
    return as_decimal(holds * RINSES / parts)


def rinsing_steps(container_gallons: Number) -> list[Step]:
    """Return the numbered steps that rinse an emptied container into the tank [IL-RINSING].

    container_gallons: what the container holds, in US gallons

    >>> rinsing_steps(1)[1].facts["part"]
    '1/4'
    """
    small = positive("The container", container_gallons) < SMALL_CONTAINER_GALLONS
    sentences: list[_Sentence] = [
        (gettext_noop("Drain the empty container into the tank for 30 seconds."), _NOTHING),
        (
            gettext_noop("Fill %(part)s of it with water, close it and shake it for 30 seconds."),
            {"part": "1/4" if small else "1/5"},
        ),
        (gettext_noop("Drain it into the tank for 30 seconds."), _NOTHING),
        (gettext_noop("Rinse it twice more in the same way."), _NOTHING),
        (gettext_noop("Puncture the container; never use it again."), _NOTHING),
    ]
    return [Step(number, *sentence) for number, sentence in enumerate(sentences, 1)]

"""Names of pests and active ingredients: taken in from the cited tables, told to who reads."""

from collections.abc import Mapping
from typing import Any

from django.db import transaction
from django.utils.translation import get_language

from clients.lying import state_named
from treatments.models import ActiveIngredient, Pest
from treatments.rules.findings import Named, plainly
from treatments.rules.table_files import read_json, read_toml


@transaction.atomic
def take_in_known_names() -> None:
    """Add each pest and active ingredient that the tables know and the book does not."""
    for row in read_toml("pests")["pests"]:
        _add(Pest(**row), common_name=row["common_name"])
    for row in read_json("actives"):
        _add(_ingredient(row), name=row["common_name"])


def _add(thing: Pest | ActiveIngredient, **name: str) -> None:
    if not type(thing)._default_manager.filter(**name).exists():
        thing.full_clean()
        thing.save()


def _ingredient(row: Mapping[str, Any]) -> ActiveIngredient:
    """Return an active ingredient with what the cited table says of it."""
    return ActiveIngredient(
        name=row["common_name"],
        irac_group=row["irac_group"] or "",
        frac_group=row["frac_group"] or "",
        separation_class=_family(row),
        bee_hazard=row["bee_hazard"].split()[0],
        moves_into_pollen=row["class"] == "neonicotinoid",
        residual_days=row["typical_residual_days"][1],
        stages_controlled=row["stages_controlled"],
    )


def _family(row: Mapping[str, Any]) -> str:
    """Return the family that is kept days apart; soaps are a family of their own."""
    return "soap" if row["class"] == "fatty acid salt" else row["sulfur_oil_group"] or ""


def in_words(fact: object) -> object:
    """Return a fact plainly, a name as the book has it in the language that is spoken now.

    A state that is told by its code has a name as well.
    """
    if isinstance(fact, Named):
        return fact.others.get(get_language() or "en", fact)
    plain = plainly(fact)
    return state_named(plain) if isinstance(plain, str) else plain

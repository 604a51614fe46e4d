"""Loads active ingredients, pests and products with their labels."""

from typing import Any

from services.demonstration.reading import read
from services.demonstration.yard import kept
from treatments.models import ActiveIngredient, LabelRate, Pest, Product, ProductIngredient
from treatments.rules.table_files import read_json

BUILT = ("number", "formulation", "contents", "rates")
LABEL_VERSION = "invented for the demonstration"
FIRST_AID = (
    "Invented label: have the real label at hand and call the poison centre, 1-800-222-1222."
)


def load_labels() -> None:
    """Load the pests, and the products with their ingredients and rates."""
    for row in read("pests")["pests"]:
        kept(Pest(**row))
    table = {row["common_name"]: row for row in read_json("actives")}
    for row in read("products")["products"]:
        _load_product(row, table)


def _load_product(row: dict[str, Any], table: dict[str, dict[str, Any]]) -> None:
    columns = {name: value for name, value in row.items() if name not in BUILT}
    product = kept(
        Product(
            epa_registration_number=row.get("number", ""),
            formulation_code=row["formulation"],
            registrant="Invented Registrant",
            label_version=LABEL_VERSION,
            first_aid=FIRST_AID,
            **columns,
        )
    )
    for name, percent in row["contents"]:
        ingredient = _ingredient(table[name])
        kept(ProductIngredient(product=product, ingredient=ingredient, percent_by_weight=percent))
    for plant_group, minimum, maximum, basis, gallons in row["rates"]:
        kept(
            LabelRate(
                product=product,
                plant_group=plant_group,
                minimum=minimum,
                maximum=maximum,
                basis=basis,
                gallons_per_1000_sq_ft=gallons,
            )
        )


def _ingredient(row: dict[str, Any]) -> ActiveIngredient:
    """Return an active ingredient with what the cited table says of it."""
    known = ActiveIngredient.objects.filter(name=row["common_name"]).first()
    return known or kept(
        ActiveIngredient(
            name=row["common_name"],
            irac_group=row["irac_group"] or "",
            frac_group=row["frac_group"] or "",
            separation_class=_family(row),
            bee_hazard=row["bee_hazard"].split()[0],
            moves_into_pollen=row["class"] == "neonicotinoid",
            residual_days=row["typical_residual_days"][1],
            stages_controlled=row["stages_controlled"],
        )
    )


def _family(row: dict[str, Any]) -> str:
    """Return the family that is kept days apart; soaps are a family of their own."""
    return "soap" if row["class"] == "fatty acid salt" else row["sulfur_oil_group"] or ""

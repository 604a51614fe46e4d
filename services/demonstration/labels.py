"""Loads active ingredients, pests and products with their labels."""

from typing import Any

from services.demonstration.reading import read
from services.demonstration.yard import kept
from treatments.models import ActiveIngredient, LabelRate, Product, ProductIngredient

BUILT = ("number", "formulation", "contents", "rates")
LABEL_VERSION = "invented for the demonstration"
FIRST_AID = (
    "Invented label: have the real label at hand and call the poison center, 1-800-222-1222."
)


def load_labels() -> None:
    """Load the pests, and the products with their ingredients and rates."""
    for row in read("products")["products"]:
        _load_product(row)


def _load_product(row: dict[str, Any]) -> None:
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
        ingredient = ActiveIngredient.objects.get(name=name)
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

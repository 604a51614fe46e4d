"""A store to propose from: an oil and four miticides for roses, all invented, with real actives."""

from datetime import date
from decimal import Decimal

from treatments.models import ActiveIngredient, Product
from treatments.storekeeping import receive_lot

EVERY_STAGE = ["egg", "larva", "nymph", "adult"]
SHELF = [
    ("Still Oil", "horticultural oil (mineral oil)", "UNM", EVERY_STAGE, {"organic_listed": True}),
    ("Young Stop", "hexythiazox", "10A", ["egg", "larva", "nymph"], {}),
    ("All Stop", "bifenazate", "20D", EVERY_STAGE, {}),
    ("Slow Mist", "abamectin", "6", ["larva", "nymph", "adult"], {}),
    ("Last Word", "fenpyroximate", "21A", ["larva", "nymph", "adult"], {}),
]


def keep_shelf(by, names=None, **others):
    """Put the products into the book and 64 fl oz of each into the store; return them by name."""
    return {
        row[0]: kept(*row[:4], row[4] | others, by)
        for row in SHELF
        if names is None or row[0] in names
    }


def kept(name, active, group, stages, others, by, amount=Decimal(64)):
    """Put a product into the book, and some of it into the store."""
    product = Product.objects.create(
        name=name, minimum_interval_days=7, price=Decimal("1.5"), **others
    )
    ingredient, _ = ActiveIngredient.objects.get_or_create(
        name=active,
        defaults={
            "irac_group": group,
            "stages_controlled": stages,
            "separation_class": "oil" if "oil" in active else "",
        },
    )
    product.contents.create(ingredient=ingredient, percent_by_weight=Decimal(10))
    product.rates.create(
        plant_group="rose",
        minimum=Decimal(1),
        maximum=Decimal(2),
        basis="fl oz/gal",
        gallons_per_1000_sq_ft=Decimal(5),
    )
    if amount:
        receive_lot(
            product=product,
            lot_number=f"{name[0]}-1",
            amount=amount,
            received_on=date(2026, 3, 2),
            expires_on=date(2028, 3, 1),
            unit_cost=Decimal("1.25"),
            by=by,
        )
    return product

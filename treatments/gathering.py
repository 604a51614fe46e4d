"""Turns models into the plain facts that the rules are given, and loads what that takes."""

from collections.abc import Iterable
from dataclasses import fields
from decimal import ROUND_DOWN, Decimal
from functools import lru_cache
from zoneinfo import ZoneInfo

from django.db.models import Prefetch, QuerySet

from clients.models import Habit, Planting
from treatments.models import (
    ApplicationRecord,
    Certificate,
    EarlierApplication,
    LabelRate,
    Lot,
    Product,
    ProductIngredient,
    Sprayer,
)
from treatments.rules import certificates
from treatments.rules.facts import (
    BloomRule,
    CertificateFacts,
    IngredientFacts,
    LotFacts,
    PastApplication,
    PlantingFacts,
    ProductFacts,
    RateFacts,
    RespiratorNeed,
    SeparationClass,
    SignalWord,
    Standing,
)
from treatments.rules.geometry import Face, oval_sq_ft, treated_area_sq_ft
from treatments.rules.units import (
    Basis,
    Measure,
    Unit,
    UnitMismatch,
    as_decimal,
    exact,
    exact_convert,
)

THOUSANDTH = Decimal("0.001")
SHAPES_KEPT = 4096  # areas worked out already; a business has about as many plantings
NOWHERE_NEAR = Decimal("Infinity")  # the property says that there is none

INGREDIENT_COLUMNS = [
    "name",
    "irac_group",
    "frac_group",
    "bee_hazard",
    "moves_into_pollen",
    "residual_days",
]
# Facts that are no column of the same name: they are put together below.
BUILT_PRODUCT_FACTS = {
    "registration_number",
    "ingredients",
    "rates",
    "signal_word",
    "bloom_rule",
    "protective_equipment",
    "respirator",
    "plants_excluded",
}
PLAIN_PRODUCT_FACTS = [f.name for f in fields(ProductFacts) if f.name not in BUILT_PRODUCT_FACTS]
PLAIN_PLANTING_FACTS = [
    "name",
    "plant_group",
    "species",
    "bloom_start",
    "bloom_end",
    "attracts_bees",
    "edible",
    "harvest_on",
    "waxy_leaf",
    "drought_stressed",
    "common_name",
]


def with_labels(products: QuerySet[Product]) -> QuerySet[Product]:
    """Load products with all that `product_facts` reads, in three queries."""
    return products.prefetch_related(
        Prefetch("contents", ProductIngredient.objects.select_related("ingredient")),
        Prefetch("rates", LabelRate.objects.select_related("pest")),
    )


def treated_area_of(planting: Planting) -> Decimal:
    """Return the area that is sprayed on a planting, in square feet with one decimal.

    What was measured comes first.  A hedge is its long faces and top, a tree or container the
    oval it covers on the ground, each of so many; a bed or lawn is a rectangle.  Rounded down: an
    area told too large would overdose the ground.
    """
    if planting.measured_area_sq_ft is not None:
        return planting.measured_area_sq_ft
    return _computed_area(planting).quantize(Decimal("0.1"), rounding=ROUND_DOWN)


def _computed_area(planting: Planting) -> Decimal:
    length, width = planting.length_ft, planting.width_ft
    if planting.habit in (Habit.TREE, Habit.CONTAINER):
        return oval_sq_ft(length, width) * planting.plants
    return _area_of_faces(length, width, planting.height_ft, _faces(planting))


# A planting's area is asked for again and again, by minutes, spray, mix and limits.
_area_of_faces = lru_cache(SHAPES_KEPT)(treated_area_sq_ft)


def _faces(planting: Planting) -> frozenset[Face]:
    if planting.habit != Habit.HEDGE:
        return frozenset({Face.GROUND})
    sides = {Face.NEAR_SIDE, Face.FAR_SIDE} if planting.faces == 2 else {Face.NEAR_SIDE}
    return frozenset(sides | ({Face.TOP} if planting.top_treated else set()))


def product_facts(product: Product) -> ProductFacts:
    """Return what the label of a product says; load it through `with_labels`."""
    plain = {name: getattr(product, name) for name in PLAIN_PRODUCT_FACTS}
    return ProductFacts(
        registration_number=product.epa_registration_number,
        ingredients=tuple(_ingredient_facts(content) for content in product.contents.all()),
        rates=tuple(_rate_facts(rate) for rate in product.rates.all()),
        signal_word=SignalWord(product.signal_word),
        bloom_rule=BloomRule(product.bloom_rule),
        protective_equipment=tuple(product.protective_equipment),
        respirator=_respirator_need(product),
        plants_excluded=tuple(product.plants_excluded),
        **plain,
    )


def _ingredient_facts(content: ProductIngredient) -> IngredientFacts:
    ingredient = content.ingredient
    return IngredientFacts(
        separation_class=SeparationClass(ingredient.separation_class),
        stages_controlled=tuple(ingredient.stages_controlled),
        percent_by_weight=content.percent_by_weight,
        pounds_per_gallon=content.pounds_per_gallon,
        maximum_pounds_per_acre_per_year=content.maximum_pounds_per_acre_per_year,
        **{name: getattr(ingredient, name) for name in INGREDIENT_COLUMNS},
    )


def _rate_facts(rate: LabelRate) -> RateFacts:
    pest = rate.pest.common_name if rate.pest else ""
    return RateFacts(rate.plant_group, pest, rate.minimum, rate.maximum, rate.basis)


def _respirator_need(product: Product) -> RespiratorNeed:
    classes = frozenset(product.respirator_filter_classes)
    return RespiratorNeed(
        needs_organic_vapour=product.respirator_vapour,
        needs_particulate=product.respirator_particulate,
        filter_classes=classes or RespiratorNeed().filter_classes,
    )


def planting_facts(planting: Planting) -> PlantingFacts:
    """Return a planting with what must be minded around it; its property is read as well."""
    place = planting.property
    return PlantingFacts(
        treated_area_sq_ft=treated_area_of(planting),
        organic_only=place.client.organic_only,
        jurisdiction=place.jurisdiction,
        bees_near=place.bees,
        water_distance_ft=_distance(place.open_water, place.water_distance_ft),
        well_distance_ft=_distance(place.well, place.well_distance_ft),
        edible_distance_ft=_distance(place.kitchen_garden, place.garden_distance_ft),
        production_site=place.production_site,
        **{name: getattr(planting, name) for name in PLAIN_PLANTING_FACTS},
    )


def _distance(is_there: bool, feet: int | None) -> Decimal | None:
    if not is_there:
        return NOWHERE_NEAR
    return None if feet is None else Decimal(feet)


def lot_facts(lot: Lot) -> LotFacts:
    """Return a lot that was loaded with its balance; one without a number goes by its id."""
    # SQLite adds decimals as floats, and tells more places than the ledger has.
    left = lot.balance.quantize(THOUSANDTH)
    return LotFacts(lot.product.name, lot.lot_number or f"({lot.pk})", left, lot.expires_on)


def certificate_facts(certificate: Certificate) -> CertificateFacts:
    """Return a certificate with the name of who holds it."""
    return CertificateFacts(
        holder=certificate.applicator.name,
        jurisdiction=certificate.jurisdiction,
        categories=frozenset(certificate.categories),
        expires_on=certificate.expires_on,
        number=certificate.number,
        issued_on=certificate.issued_on,
        standing=Standing.LIMITED if certificate.is_limited else Standing.CERTIFIED,
        bars_restricted_use=certificate.bars_restricted_use,
        own_property_only=certificate.own_property_only,
        suspended_from=certificate.suspended_from,
        reinstated_on=certificate.reinstated_on,
    )


def sprayer_as_certified(sprayer: Sprayer) -> certificates.Sprayer:
    """Return a sprayer as far as a limited certificate asks; one fed by a hose has no power."""
    is_powered = sprayer.kind == Sprayer.Kind.POWER
    return certificates.Sprayer(sprayer.kind, sprayer.tank_gallons, is_powered)


def local_day(record: ApplicationRecord):
    """Return the day on which an application was completed, by the clocks of its place."""
    return record.done_at.astimezone(ZoneInfo(record.time_zone)).date()


def past_application(record: ApplicationRecord, product: ProductFacts) -> PastApplication:
    """Return what a record shows, its amount in the unit of the label's limits."""
    used = Measure(record.product_amount, Unit(record.product_unit))
    amount = amount_on_ground(used, record.treated_area_sq_ft, Basis(product.amount_basis))
    return PastApplication(local_day(record), product, amount)


def earlier_application(earlier: EarlierApplication, product: ProductFacts) -> PastApplication:
    """Return what was taken over from elsewhere, as a record of this book would be told."""
    amount = None
    if earlier.product_amount is not None:
        used = Measure(earlier.product_amount, Unit(earlier.product_unit))
        amount = amount_on_ground(used, earlier.treated_area_sq_ft, Basis(product.amount_basis))
    return PastApplication(earlier.applied_on, product, amount)


def amount_on_ground(used: Measure, area_sq_ft: Decimal | None, basis: Basis) -> Decimal | None:
    """Return what an amount on an area comes to on a basis of dose, or None when unknown."""
    if not area_sq_ft:
        return None
    try:
        product = exact_convert(used.amount, used.unit, basis.amount_unit)
    except UnitMismatch:
        return None
    per = exact_convert(basis.per.amount, basis.per.unit, Unit.SQUARE_FOOT)
    return as_decimal(product * per / exact(area_sq_ft))


def groups_of(product: Product) -> str:
    """Return the modes of action of a product as its label prints them, such as "10A + 3A".

    Nothing is asked of the database where the product's contents are loaded.
    """
    return groups_shown(_ingredient_facts(content) for content in product.contents.all())


def groups_shown(ingredients: Iterable[IngredientFacts]) -> str:
    """Return the groups of ingredients, those of fungicides with the word FRAC before them."""
    groups = [
        group
        for each in ingredients
        for group in (each.irac_group, each.frac_group and f"FRAC {each.frac_group}")
        if group
    ]
    return " + ".join(dict.fromkeys(groups))

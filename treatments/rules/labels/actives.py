"""How much of an active ingredient an acre takes in a year, from all products that hold it."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from fractions import Fraction

from treatments.rules.facts import (
    Applied,
    IngredientFacts,
    PastApplication,
    PlannedApplication,
    ProductFacts,
    in_date_order,
)
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.labels.totals import OTHER_PRODUCT, amount_applied
from treatments.rules.strength import ingredient_in_dry, ingredient_in_liquid
from treatments.rules.units import (
    Basis,
    Kind,
    Measure,
    Unit,
    as_decimal,
    exact,
    exact_convert,
)

TOO_MUCH_ACTIVE = gettext_noop(
    "With this application %(active)s comes to %(pounds)s lb an acre in %(year)s, from all "
    "products that hold it; the label of %(product)s allows %(limit)s."
)
ACTIVE_UNKNOWN = gettext_noop(
    "The label of %(product)s limits %(active)s to %(limit)s lb an acre in a year; how much of it "
    "was or would be applied by %(other)s is not known."
)
GIVE_STRENGTH = gettext_noop("Enter the pounds a gallon from the label, and the amount applied.")


def pounds_per_acre(application: Applied, name: str) -> Decimal | None:
    """Return how much of an active ingredient an application brings, in pounds an acre.

    0 where the product holds none of it, None where its amount or its strength is not known.
    """
    product = application.product
    content = next((each for each in product.ingredients if each.name == name), None)
    if content is None:
        return Decimal(0)
    amount, basis = amount_applied(application), Basis(product.amount_basis)
    if amount is None:
        return None
    acres = exact_convert(basis.per.amount, basis.per.unit, Unit.ACRE)
    return _pounds_in(Measure(amount, basis.amount_unit), content, acres)


def _pounds_in(used: Measure, content: IngredientFacts, acres: Fraction) -> Decimal | None:
    if used.unit.kind is Kind.VOLUME:
        if content.pounds_per_gallon is None:
            return None
        pounds = ingredient_in_liquid(used, content.pounds_per_gallon)
    elif content.percent_by_weight is None:
        return None
    else:
        pounds = ingredient_in_dry(used, content.percent_by_weight)
    return as_decimal(exact(pounds) / acres)


def limits_of(products: Sequence[ProductFacts]) -> dict[str, tuple[Decimal, ProductFacts]]:
    """Return the least pounds an acre that labels allow of each ingredient, and which label."""
    limits: dict[str, tuple[Decimal, ProductFacts]] = {}
    for product in products:
        for content in product.ingredients:
            limit = content.maximum_pounds_per_acre_per_year
            if limit is not None and limit < limits.get(content.name, (Decimal("Infinity"),))[0]:
                limits[content.name] = limit, product
    return limits


def check_actives(
    applications: Sequence[PlannedApplication], history: Sequence[PastApplication] = ()
) -> list[Finding]:
    """Return a refusal for each planned application that brings an ingredient over a label's most.

    The least limit of all labels counts for all products that hold the ingredient; the year is
    the calendar year.  Both are common practice where the label does not say.
    """
    applied = in_date_order(applications, history)
    limits = limits_of([each.product for each in applied])
    return [
        finding
        for name, (limit, label) in limits.items()
        for year in sorted({each.day.year for each in applied})
        for finding in _of_year([e for e in applied if e.day.year == year], name, limit, label)
    ]


def _of_year(
    applied: Sequence[Applied], name: str, limit: Decimal, label: ProductFacts
) -> Iterator[Finding]:
    total = Decimal(0)
    for application in applied:
        pounds = pounds_per_acre(application, name)
        week = application.week if isinstance(application, PlannedApplication) else None
        facts = {"active": name, "product": label.name, "limit": limit}
        if pounds is None:
            facts["other"] = application.product.name
            yield _finding("active-unknown", Severity.WARNING, week, facts)
            continue
        total += pounds
        if pounds and total > limit and week is not None:
            facts |= {"pounds": round(total, 4).normalize(), "year": application.day.year}
            yield _finding("active-above-label", Severity.REFUSAL, week, facts)


def _finding(code: str, severity: Severity, week: int | None, facts: dict[str, object]) -> Finding:
    sentence, remedy = (
        (TOO_MUCH_ACTIVE, OTHER_PRODUCT)
        if severity is Severity.REFUSAL
        else (ACTIVE_UNKNOWN, GIVE_STRENGTH)
    )
    return Finding(code, severity, sentence, remedy, facts, week=week)

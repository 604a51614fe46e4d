"""One invented rose soap, one rose bed, and ways to change what a test is about."""

from dataclasses import replace
from datetime import date
from decimal import Decimal

import pytest

from treatments.rules.facts import (
    IngredientFacts,
    PlannedApplication,
    PlantingFacts,
    ProductFacts,
    RateFacts,
)

ROSE_RATE = RateFacts("rose", "", Decimal(1), Decimal(2), "fl oz/gal")


@pytest.fixture
def a_product():
    """Return a product of an invented registration, changed as a test asks."""

    def build(name="Invented Soap", **changes):
        product = ProductFacts(
            name=name,
            registration_number="",
            ingredients=(IngredientFacts("an ingredient"),),
            rates=(ROSE_RATE,),
        )
        return replace(product, **changes)

    return build


@pytest.fixture
def acting_by():
    """Return ingredients of the given IRAC groups."""

    def build(*groups):
        return tuple(IngredientFacts(f"active {group}", irac_group=group) for group in groups)

    return build


@pytest.fixture
def a_week(a_product):
    """Return one week of a rotation, changed as a test asks."""

    def build(week=1, day=date(2026, 6, 1), product=None, **changes):
        application = PlannedApplication(
            week, day, product or a_product(), "two-spotted spider mite", Decimal(1), "fl oz/gal"
        )
        return replace(application, **changes)

    return build


@pytest.fixture
def a_planting():
    """Return a rose bed, changed as a test asks."""

    def build(**changes):
        return replace(PlantingFacts("Rose bed", "rose", "Rosa", Decimal(500)), **changes)

    return build


@pytest.fixture
def codes():
    """Return the codes of findings, in their order."""
    return lambda findings: [finding.code for finding in findings]

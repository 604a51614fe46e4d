"""Tests with water: kept per planting, and scaled up as the estimate for the next mix."""

from datetime import date
from decimal import Decimal
from typing import Any

from django.db import transaction

from clients.loaded import all_of
from clients.models import Planting
from treatments.gathering import treated_area_of
from treatments.models import Sprayer, WaterTest
from treatments.rules.findings import Finding
from treatments.rules.spray_volume import findings_on_strip, spray_for_hedge, spray_for_plants
from treatments.rules.units import as_decimal, exact


@transaction.atomic
def keep_water_test(
    *,
    planting: Planting,
    tested_on: date,
    tested_by: Any,
    water_amount: Decimal,
    water_unit: str,
    strip_ft: Decimal | None = None,
    plants_tested: int | None = None,
    sprayer: Sprayer | None = None,
    note: str = "",
) -> WaterTest:
    """Keep what a part of a planting took of water; the same test told twice is kept once."""
    test = WaterTest(
        planting=planting,
        tested_on=tested_on,
        tested_by=tested_by,
        water_amount=water_amount,
        water_unit=water_unit,
        strip_ft=strip_ft,
        plants_tested=plants_tested,
        sprayer=sprayer,
        note=note,
    )
    test.full_clean()
    if known := _told_before(test):
        return known
    test.save()
    return test


def _told_before(test: WaterTest) -> WaterTest | None:
    told = {
        field.name: getattr(test, field.name)
        for field in WaterTest._meta.concrete_fields
        if field.name not in ("id", "tested_by")
    }
    return WaterTest.objects.filter(**told).first()


def latest_test(planting: Planting) -> WaterTest | None:
    """Return the newest test on a planting; what was prefetched is read."""
    tests = all_of(planting, "water_tests")
    return max(tests, key=lambda test: (test.tested_on, test.pk), default=None)


def spray_by_test(test: WaterTest, planting: Planting) -> Decimal:
    """Return the spray for a whole planting by a test on a part of it, in US gallons.

    A strip counts by its share of the length, on the faces that are sprayed; plants by number.
    """
    if test.plants_tested is not None:
        each = as_decimal(exact(test.gallons()) / test.plants_tested)
        return spray_for_plants(each, planting.plants)
    face = treated_area_of(planting)
    strip = as_decimal(exact(face) * exact(test.strip_ft or 0) / exact(planting.length_ft))
    return spray_for_hedge(face, test.gallons(), strip)


def output_by_test(planting: Planting) -> Decimal | None:
    """Return what the newest test comes to on 1,000 sq ft of a planting, or None without one."""
    test = latest_test(planting)
    if test is None:
        return None
    return as_decimal(
        exact(spray_by_test(test, planting)) * 1000 / exact(treated_area_of(planting))
    )


def findings_on_test(test: WaterTest, planting: Planting) -> list[Finding]:
    """Return what is to be said of how much of a planting was tested."""
    if test.strip_ft is None:
        return []
    return findings_on_strip(test.strip_ft, planting.length_ft)

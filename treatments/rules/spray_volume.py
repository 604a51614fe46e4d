"""How much finished spray a job takes: by area, by plant, by time, or by canopy."""

from decimal import Decimal

from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.units import SQUARE_FEET_PER_ACRE, Number, as_decimal, exact, positive

DILUTE_GAL_PER_1000_CU_FT = Decimal("0.7")  # to wetness in orchards, an upper bound [PSU-TRV]
SHORTEST_STRIP_FT = 20  # of hedge in a test with water; common practice


def spray_for_area(
    area_sq_ft: Number, output_gal_per_1000_sq_ft: Number, allowance_percent: Number = 0
) -> Decimal:
    """Return the spray that covers an area, in US gallons.

    area_sq_ft: in square feet; output_gal_per_1000_sq_ft: as calibrated
    allowance_percent: a stated little more; what is left over goes on a labelled site, within rate

    The area in thousands of square feet times the output [MD0173].

    >>> spray_for_area(2_500, Decimal("1.5"))
    Decimal('3.75')
    """
    spray = positive("The area", area_sq_ft) * positive("The output", output_gal_per_1000_sq_ft)
    return as_decimal(spray / 1000 * (1 + exact(allowance_percent) / 100))


def area_covered_sq_ft(gallons: Number, gallons_per_acre: Number) -> Decimal:
    """Return the area that so much spray covers, in square feet [SLIDES-128].

    gallons: finished spray; gallons_per_acre: the output, as calibrated

    >>> area_covered_sq_ft(1, 40)
    Decimal('1089')
    """
    acres = positive("The spray", gallons) / positive("The output", gallons_per_acre)
    return as_decimal(acres * SQUARE_FEET_PER_ACRE)


def spray_for_plants(gallons_per_plant: Number, plants: int) -> Decimal:
    """Return the spray for plants wetted to just before runoff, in US gallons.

    gallons_per_plant: measured with water on a typical plant; plants: how many

    [PES-HOSE-END]

    >>> spray_for_plants(Decimal("0.5"), 6)
    Decimal('3')
    """
    return as_decimal(positive("The spray", gallons_per_plant) * positive("Plants", plants))


def spray_for_minutes(flow_gal_per_min: Number, minutes: Number) -> Decimal:
    """Return the spray of a gun held open for so long, in US gallons [LAWN-QUESTIONS-2024].

    flow_gal_per_min: in gallons a minute; minutes: with the trigger held

    >>> spray_for_minutes(Decimal("0.4"), 45)
    Decimal('18')
    """
    return as_decimal(positive("The flow", flow_gal_per_min) * positive("The time", minutes))


def plants_per_acre(spacing_ft: Number, row_ft: Number) -> Decimal:
    """Return how many plants stand on an acre [PSU-PER-TREE].

    spacing_ft: between plants in the row; row_ft: between rows; both in feet

    >>> plants_per_acre(6, 6)
    Decimal('1210')
    """
    ground = positive("The spacing", spacing_ft) * positive("The row", row_ft)
    return as_decimal(SQUARE_FEET_PER_ACRE / ground)


def gallons_per_plant(gallons_per_acre: Number, plants_per_acre: Number) -> Decimal:
    """Return the spray that falls to one plant, in US gallons [PSU-PER-TREE].

    gallons_per_acre: the output; plants_per_acre: how many stand on an acre

    >>> gallons_per_plant(100, 1000)
    Decimal('0.1')
    """
    plants = positive("The number of plants", plants_per_acre)
    return as_decimal(positive("The output", gallons_per_acre) / plants)


def seconds_per_plant(gallons_per_plant: Number, flow_gal_per_min: Number) -> Decimal:
    """Return how long to spray one plant, in seconds [PSU-PER-TREE].

    gallons_per_plant: in US gallons; flow_gal_per_min: of the gun or nozzle

    >>> seconds_per_plant(Decimal("0.1"), Decimal("0.3"))
    Decimal('20')
    """
    minutes = positive("The spray", gallons_per_plant) / positive("The flow", flow_gal_per_min)
    return as_decimal(minutes * 60)


def spray_for_hedge(face_sq_ft: Number, strip_gallons: Number, strip_sq_ft: Number) -> Decimal:
    """Return the spray for a hedge's faces from a strip wetted with water, in US gallons.

    face_sq_ft: all faces sprayed, in square feet
    strip_gallons, strip_sq_ft: what the test strip took, and its face

    In proportion to the face: common practice.  A test of 20 to 25 feet of hedge serves.

    >>> spray_for_hedge(1_800, Decimal("0.5"), 150)
    Decimal('6')
    """
    a_sq_ft = positive("The strip's spray", strip_gallons) / positive("The strip", strip_sq_ft)
    return as_decimal(positive("The face", face_sq_ft) * a_sq_ft)


def findings_on_strip(strip_ft: Number, whole_ft: Number) -> list[Finding]:
    """Return a note when a test with water was made on too little of a hedge or row.

    strip_ft: what was wetted; whole_ft: the length of the planting, both in feet

    Twenty feet or more, or all of a shorter one: common practice.

    >>> findings_on_strip(20, 120), findings_on_strip(12, 12)
    ([], [])
    """
    least = min(exact(SHORTEST_STRIP_FT), positive("The length", whole_ft))
    if positive("The strip", strip_ft) >= least:
        return []
    return [
        Finding(
            "strip-short",
            Severity.NOTE,
            gettext_noop("A strip of %(strip)s ft tells little of a planting of %(whole)s ft."),
            gettext_noop("Wet 20 to 25 ft of it with water and measure again."),
            {"strip": as_decimal(exact(strip_ft)), "whole": as_decimal(exact(whole_ft))},
            "common practice",
        )
    ]


def most_spray_for_canopy(length_ft: Number, height_ft: Number, width_ft: Number) -> Decimal:
    """Return the most spray a canopy can hold, in US gallons.

    length_ft, height_ft, width_ft: of the hedge or row, in feet

    0.7 gallons for 1,000 cubic feet, an orchard's figure [PSU-TRV], which over-sprays nursery
    trees heavily: a test with water comes first.

    >>> most_spray_for_canopy(100, 10, 1)
    Decimal('0.7')
    """
    sides = positive("The height", height_ft) * positive("The width", width_ft)
    volume = positive("The length", length_ft) * sides
    return as_decimal(volume / 1000 * exact(DILUTE_GAL_PER_1000_CU_FT))


def gallons_per_1000_cu_ft(
    gallons_per_acre: Number, height_ft: Number, width_ft: Number, row_ft: Number
) -> Decimal:
    """Return how much spray an output gives a row's canopy, in gallons for 1,000 cubic feet.

    gallons_per_acre: the output; height_ft, width_ft: of the canopy; row_ft: between rows

    The row's length on an acre is 43,560 over the spacing [PSU-TRV].

    >>> round(gallons_per_1000_cu_ft(400, 20, 23, 35), 1)
    Decimal('0.7')
    """
    length = SQUARE_FEET_PER_ACRE / positive("The row", row_ft)
    volume = length * positive("The height", height_ft) * positive("The width", width_ft)
    return as_decimal(positive("The output", gallons_per_acre) * 1000 / volume)


def row_volume_factor(cubic_feet_per_gallon: Number) -> Decimal:
    """Return the factor of gallons an acre = factor x height x width / row.

    cubic_feet_per_gallon: the canopy that one gallon wets

    43,560 over the coverage [UMASS-TRV]; the sheet's own 35 does not follow from its 1,450.

    >>> round(row_volume_factor(1_450), 2)
    Decimal('30.04')
    """
    return as_decimal(SQUARE_FEET_PER_ACRE / positive("The coverage", cubic_feet_per_gallon))

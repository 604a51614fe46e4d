"""Every worked example of tests/reference/mixing_cases.json, through our own functions.

Where a text prints a wrong answer the case is flagged: the right one is expected, and the
printed one must not come out.
"""

import json
from decimal import Decimal
from fractions import Fraction
from pathlib import Path

import pytest

from treatments.rules import (
    calibration,
    geometry,
    hose_end,
    measuring,
    nozzles,
    spray_volume,
    strength,
    tanks,
)
from treatments.rules.mixing import product_for_batch, product_per_gallon
from treatments.rules.units import (
    Basis,
    Measure,
    Unit,
    convert,
    convert_rate,
    exact,
)

PATH = Path(__file__).resolve().parents[2] / "reference" / "mixing_cases.json"
CASES = json.loads(PATH.read_text(encoding="utf-8"), parse_float=Decimal)["cases"]
ACRE = Decimal(43_560)
KEY_OF_TITLE = {  # by how the title begins
    "NIST Handbook 44": "[NIST-HB44]",
    "NIST Special Publication 811": "[NIST-SP811]",
    "Pesticide Environmental Stewardship: Measurements": "[PES-CONVERSIONS]",
    "Pesticide Environmental Stewardship: How do I": "[PES-HOSE-END]",
    "Pesticide Environmental Stewardship: Calibration": "[PES-SPRAY-GUN]",
    "Pesticide safety training wiki": "[PES-MIXING]",
    "University of Kentucky": "[UKREC]",
    "New England Vegetable": "[NEVEG-244]",
    "Limited Lawn and Ornamental": "[LAWN-QUESTIONS-2024]",
    "Forestry / right-of-way": "[FORESTRY-2007]",
    "US Army Medical Department": "[MD0173]",
    "University of Missouri": "[MU-G7510]",
    "PNW Pest Management": "[PNW-NODE328]",
    "Agrochemical and Pesticide Safety": "[APS-128]",
    "Texas A&M": "[TAMU-PPM]",
    "New Jersey core": "[NJ-CORE-QUESTION]",
    "North Carolina applicator": "[NC-QUESTION]",
    "Oklahoma State University-Oklahoma City": "[OSU-OKC-2013]",
    "Oklahoma State University turf": "[OKSTATE-TURF]",
    "Montana State University": "[MSU-MT200014]",
    "1/128 Method": "[SLIDES-128]",
    "UF/IFAS Extension Alachua": "[UF-ALACHUA-2022]",
    "Mesa County": "[MESA-HANDGUN]",
    "NC State": "[NCSU-BACKPACK]",
    "LSU AgCenter: Ounces": "[LSU-OUNCE]",
    "LSU AgCenter: Estimating": "[LSU-LAWN-AREAS]",
    "University of Georgia": "[UGA-SB16]",
    "Florida extension": "[UF00067548]",
    "Florida Pest Control": "[FL-STUDY-213]",
    "Iowa State": "[ISU-ICM844]",
    "Summary sheet of core": "[CORE-CH11]",
    "Penn State Extension": "[PSU-PER-TREE]",
    "Penn State Tree Fruit": "[PSU-TRV]",
    "University of Massachusetts": "[UMASS-TRV]",
    "UC ANR": "[UCANR-16761]",
    "Clemson Extension": "[CLEMSON-HGIC1220]",
    "Virginia turf": "[VATURF-AREA]",
    "University of Tennessee": "[UTK-PSEP]",
    "trade rule of thumb": "common practice",
    "arithmetic made for this project": "own arithmetic",
}


class Case:
    """One worked example: what goes in, by name, and the unit that must come out."""

    def __init__(self, facts):
        self.inputs = facts["inputs"]
        self.unit = facts["expected"]["unit"]

    def has(self, *names):
        return set(names) == set(self.inputs)

    def value(self, name):
        value = self.inputs[name]["value"]
        return value if isinstance(value, list) else Decimal(value)

    def unit_of(self, name):
        return self.inputs[name]["unit"]

    def basis_of(self, name):
        return Basis(self.unit_of(name))

    def square_feet(self, name):
        return convert(self.value(name), Unit(self.unit_of(name)), Unit.SQUARE_FOOT)

    def told(self, measure):
        """Return a measure in the unit that the text answers in, of an acre or gallon or not."""
        unit = self.unit.partition("/")[0].partition(" in ")[0]
        return measure.to(Unit(unit.lower() if unit == "Tbsp" else unit)).amount


def unit(case):
    (name,) = case.inputs
    value, from_unit = case.value(name), case.unit_of(name).replace("Tbsp", "tbsp")
    if name == "water":
        litres = convert(value, Unit.GALLON, Unit.LITRE)  # one kilogram each
        return convert(litres, Unit.KILOGRAM, Unit.POUND)
    if "/" in from_unit:
        return convert_rate(value, Basis(from_unit), Basis(case.unit))
    return convert(value, Unit(from_unit), Unit(case.unit))


def concentration(case):
    rate, basis = case.value("rate"), case.basis_of("rate")
    if case.has("rate", "tank"):
        return case.told(product_for_batch(rate, basis, gallons=case.value("tank")))
    volume = case.value("volume")
    if case.has("rate", "volume"):
        return case.told(product_per_gallon(rate, basis, gallons_per_acre=volume))
    output = calibration.gallons_per_1000_sq_ft(volume)
    product = product_for_batch(
        rate, basis, gallons=case.value("tank"), output_gal_per_1000_sq_ft=output
    )
    return case.told(product)


def percent_vv(case):
    rate = case.value("strength")
    return case.told(product_for_batch(rate, Basis("% v/v"), gallons=case.value("batch")))


def percent_ai(case):
    batch, final, held = (case.value(n) for n in ("batch", "final_strength", "concentrate"))
    if case.unit_of("concentrate") == "% a.i.":
        return strength.concentrate_for_strength(batch, final, held)
    gallons = strength.gallons_for_strength_by_weight(batch, final, held)
    return case.told(Measure(gallons, Unit.GALLON))


def ai_liquid(case):
    if case.has("rate", "strength", "density"):
        held = strength.pounds_per_gallon_of(case.value("strength"), case.value("density"))
    else:
        held = case.value("product")
    product = strength.liquid_for_ingredient(case.value("rate"), held)
    if "area" not in case.inputs:
        return case.told(product)
    return case.told(
        product_for_batch(product.amount, Basis("gal/acre"), area_sq_ft=case.square_feet("area"))
    )


def ai_dry(case):
    product = strength.dry_for_ingredient(case.value("rate"), case.value("product"))
    if case.has("rate", "product"):
        return case.told(product)
    if "area" in case.inputs:
        area = case.square_feet("area")
    else:
        area = spray_volume.area_covered_sq_ft(case.value("tank"), case.value("spray_volume"))
    return case.told(product_for_batch(product.amount, Basis("lb/acre"), area_sq_ft=area))


def ppm(case):
    batch, held = case.value("batch"), case.value("product")
    if "amount" in case.inputs:
        return strength.ppm_of(case.value("amount"), batch, held)
    return strength.ounces_for_ppm(case.value("target"), batch, held)


def area_rate(case):
    if case.has("volume"):
        return calibration.gallons_per_1000_sq_ft(case.value("volume"))
    rate, basis = case.value("rate"), case.basis_of("rate")
    if case.has("rate"):
        return convert_rate(rate, basis, Basis(case.unit))
    return case.told(product_for_batch(rate, basis, area_sq_ft=case.square_feet("area")))


def area_by_volume(case):
    area, volume = case.square_feet("area"), case.value("volume")
    if case.unit_of("volume") == "gal/acre":
        volume = exact(volume) * 1000 / exact(ACRE)
    return spray_volume.spray_for_area(area, volume)


def covered(case):
    square_feet = spray_volume.area_covered_sq_ft(case.value("tank"), case.value("volume"))
    return case.told(Measure(square_feet, Unit.SQUARE_FOOT))


def plants(case):
    each = convert(case.value("per_plant"), Unit.QUART, Unit.GALLON)
    return spray_volume.spray_for_plants(each, int(case.value("plants")))


def hedge(case):
    assert case.value("sides") == 2
    return geometry.treated_area_sq_ft(
        case.value("length"),
        case.value("top_width"),
        case.value("height"),
        {geometry.Face.NEAR_SIDE, geometry.Face.FAR_SIDE, geometry.Face.TOP},
    )


def with_values(function, *names):
    return lambda case: function(*(case.value(name) for name in names))


SPRAY_VOLUMES = {
    ("area", "volume"): area_by_volume,
    ("tank", "volume"): covered,
    ("per_plant", "plants"): plants,
    ("flow", "time"): with_values(spray_volume.spray_for_minutes, "flow", "time"),
    ("spacing_a", "spacing_b"): with_values(spray_volume.plants_per_acre, "spacing_a", "spacing_b"),
    ("volume", "trees"): with_values(spray_volume.gallons_per_plant, "volume", "trees"),
    ("per_tree", "flow"): with_values(spray_volume.seconds_per_plant, "per_tree", "flow"),
    ("length", "height", "sides", "top_width"): hedge,
}


def spray_volume_of(case):
    return SPRAY_VOLUMES[tuple(case.inputs)](case)


def calibration_128(case):
    if "caught" in case.inputs:
        return calibration.gallons_per_acre_caught(case.value("caught"), case.value("plot"))
    if case.has("side"):
        return geometry.rectangle_sq_ft(case.value("side"), case.value("side"))
    if case.has("width"):
        return calibration.course_ft(case.value("width"))
    multiple = case.value("multiplier") if "multiplier" in case.inputs else 1
    return calibration.course_ft(case.value("swath") * 12, multiple)


def calibration_timed(case):
    if case.has("swath", "area"):
        # The course is as long as the area over the swath; our rectangle must give it back.
        length = case.value("area") / case.value("swath")
        assert geometry.rectangle_sq_ft(length, case.value("swath")) == case.value("area")
        return length
    if case.has("t1", "t2", "t3"):
        return calibration.mean_of_runs([case.value(name) for name in case.inputs])
    if "band" in case.inputs:
        gallons = convert(case.value("caught"), Unit.FLUID_OUNCE, Unit.GALLON)
        swath = convert(case.value("band"), Unit.INCH, Unit.FOOT)
        return calibration.gallons_per_acre_by_refilling(gallons, case.value("length"), swath)
    seconds = case.value("time")
    output = calibration.output_of_timed_plot(
        case.value("caught"), case.value("area"), seconds_to_cover=seconds, seconds_caught=seconds
    )
    return calibration.gallons_per_acre(output)


def calibration_refill(case):
    if case.has("measured", "target", "band"):
        return calibration.percent_off(case.value("measured"), case.value("target"))
    return calibration.gallons_per_acre_by_refilling(
        *(case.value(name) for name in ("used", "length", "swath"))
    )


def speed(case):
    if case.has("distance", "time"):
        return calibration.speed_mph(case.value("distance"), case.value("time"))
    return calibration.seconds_over(case.value("distance"), case.value("speed"))


def nozzle_flow(case):
    seconds = case.value("time") * (60 if case.unit_of("time") == "min" else 1)
    return nozzles.flow_gal_per_min(case.value("caught"), Unit(case.unit_of("caught")), seconds)


def boom(case):
    width = convert(case.value("width"), Unit(case.unit_of("width")), Unit.INCH)
    if case.has("flow", "speed", "width"):
        return calibration.gallons_per_acre_of_boom(case.value("flow"), case.value("speed"), width)
    if case.has("flow", "volume", "width"):
        return calibration.boom_speed_mph(case.value("flow"), case.value("volume"), width)
    return calibration.boom_flow_gal_per_min(case.value("volume"), case.value("speed"), width)


def nozzle_flow_pressure(case):
    if "pressure" in case.inputs:
        return nozzles.pressure_for_flow(
            *(case.value(name) for name in ("pressure", "speed_from", "speed_to"))
        )
    times = nozzles.pressure_for_flow(1, 1, case.value("flow_ratio"))
    return (times - 1) * 100 if case.unit.startswith("%") else times


def nozzle_wear(case, which):
    return nozzles.band(case.value("average"), case.value("band"))[which == "wear-high"]


def canopy_volume(case):
    if case.has("coverage"):
        return spray_volume.row_volume_factor(case.value("coverage"))
    return spray_volume.gallons_per_1000_cu_ft(
        *(case.value(name) for name in ("volume", "height", "width", "row"))
    )


AREAS = {
    ("length", "width"): geometry.rectangle_sq_ft,
    ("diameter",): geometry.circle_sq_ft,
    ("base", "height"): geometry.triangle_sq_ft,
    ("a", "b", "height"): geometry.trapezoid_sq_ft,
    ("offsets", "spacing"): geometry.offsets_sq_ft,
}


def area(case):
    names = tuple(case.inputs)
    if names not in AREAS:
        circle = geometry.circle_sq_ft(2 * case.value("circle_radius"))
        return geometry.composite_sq_ft([case.value("rect1"), case.value("rect2"), circle])
    square_feet = AREAS[names](*(case.value(name) for name in names))
    return case.told(Measure(square_feet, Unit.SQUARE_FOOT))


def tank_split(case):
    plan = tanks.plan_mix(
        rate=case.value("rate") if "rate" in case.inputs else Decimal(1),
        basis=Basis("fl oz/gal"),
        maximum_rate=None,
        spray_gallons=case.value("volume"),
        tank_gallons=case.value("tank"),
    )
    return case.told(plan.tanks[-1].product.exact) if "rate" in case.inputs else plan.full_tanks


def rounding(case):
    if case.has("exact", "step"):
        exact_amount = case.value("exact")
        return measuring.nearest_step(exact_amount, case.value("step"), ceiling=exact_amount)
    product = product_for_batch(
        case.value("rate"), case.basis_of("rate"), gallons=case.value("tank")
    )
    return measuring.relative_error(case.value("measured"), product.amount) * 100


def hose_end_sprayer(case):
    if "dial" in case.inputs:
        return hose_end.concentrate_used_fl_oz(
            *(case.value(name) for name in ("dial", "flow", "time"))
        )
    return hose_end.dial_needed(
        case.value("rate"), case.basis_of("rate"), case.value("output")
    ).amount


def injection(case):
    return hose_end.injection_ratio(case.value("rate"))


SOLVERS = {
    "unit": unit,
    "concentration": concentration,
    "percent_vv": percent_vv,
    "percent_ai": percent_ai,
    "ai_liquid": ai_liquid,
    "ai_dry": ai_dry,
    "ppm": ppm,
    "area_rate": area_rate,
    "spray_volume": spray_volume_of,
    "calibration_128": calibration_128,
    "calibration_timed": calibration_timed,
    "calibration_refill": calibration_refill,
    "speed": speed,
    "nozzle_flow": nozzle_flow,
    "gpa_5940": boom,
    "nozzle_flow_pressure": nozzle_flow_pressure,
    "canopy_volume": canopy_volume,
    "area": area,
    "tank_split": tank_split,
    "rounding": rounding,
    "hose_end": hose_end_sprayer,
    "injection": injection,
}


def solve(facts):
    case = Case(facts)
    if facts["kind"] == "nozzle_wear":
        return nozzle_wear(case, facts["id"])
    return SOLVERS[facts["kind"]](case)


def name_of(facts):
    title = facts["source"]["title"]
    (key,) = {key.strip("[]") for start, key in KEY_OF_TITLE.items() if title.startswith(start)}
    return f"{facts['id']} {key} {facts['provenance']}"


def distance(answer, printed):
    return abs(Fraction(answer) - Fraction(printed["value"]))


@pytest.mark.parametrize("facts", CASES, ids=name_of)
def test_a_worked_example_comes_out_as_its_source_has_it(facts):
    answer = solve(facts)

    why = f"{name_of(facts)}: {answer}; flag: {facts['flag']}"
    assert distance(answer, facts["expected"]) <= Fraction(facts["tolerance"]["abs"]), why


@pytest.mark.parametrize("facts", [case for case in CASES if case["flag"]], ids=name_of)
def test_a_misprinted_answer_does_not_come_out(facts):
    answer = solve(facts)

    assert distance(answer, facts["published"]) > Fraction(facts["tolerance"]["abs"]), facts["flag"]


def test_every_case_is_tried():
    assert len(CASES) == 129
    assert len({case["id"] for case in CASES}) == 129
    assert sum(case["flag"] is not None for case in CASES) == 10

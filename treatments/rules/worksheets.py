"""Calibration worksheets: what was timed and caught, worked out to what the sprayer puts out.

Water alone, at the working pressure.  Every course is timed at least three times [PES-SPRAY-GUN].
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from treatments.rules.calibration import (
    FEWEST_RUNS,
    course_ft,
    gallons_per_1000_sq_ft,
    gallons_per_acre,
    gallons_per_acre_by_refilling,
    gallons_per_acre_caught,
    gallons_per_acre_of_boom,
    litres_per_hectare_of_boom,
    mean_of_runs,
    output_of_timed_plot,
    speed_mph,
)
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.nozzles import findings_on_nozzles, flow_gal_per_min
from treatments.rules.units import (
    AmountUnusable,
    Number,
    Unit,
    as_decimal,
    exact,
    exact_convert,
    positive,
)

NOTHING_CAUGHT = gettext_noop("Catch the spray of at least one nozzle and give how much it was.")
WIDEST_SPREAD_PERCENT = 5  # between a run and the mean; the tolerance of [PES-SPRAY-GUN]


@dataclass(frozen=True, slots=True)
class Working:
    """One line of a worksheet: what was worked out, and the source of how."""

    label: str
    amount: Decimal
    unit: str
    source: str


@dataclass(frozen=True, slots=True)
class Output:
    """What a worksheet comes to.

    flow_gallons_per_minute: of all nozzles together, where the worksheet tells it
    workings: the lines that lead there, in order
    """

    gallons_per_acre: Decimal
    gallons_per_1000_sq_ft: Decimal
    source: str
    workings: tuple[Working, ...] = ()
    flow_gallons_per_minute: Decimal | None = None
    findings: tuple[Finding, ...] = ()


def by_ounces(
    *, swath_inches: Number, seconds: Sequence[Number], caught_fl_oz: Sequence[Number]
) -> Output:
    """Return the output by a course of 1/128 acre, on which fluid ounces read as gallons an acre.

    swath_inches: width sprayed, or between nozzles where one nozzle is caught
    seconds: of each timed run over the course
    caught_fl_oz: each catch, made for as long as the mean run

    Raise TooFewRuns for fewer than three runs or catches [LSU-OUNCE].

    >>> by_ounces(swath_inches=20, seconds=[30, 31, 29], caught_fl_oz=[25, 26, 24]).gallons_per_acre
    Decimal('25')
    """
    course, run = course_ft(swath_inches), mean_of_runs(seconds)
    caught = mean_of_runs(caught_fl_oz)
    return _output(
        gallons_per_acre_caught(caught),
        "LSU-OUNCE",
        Working(gettext_noop("course of 1/128 acre for the width"), course, "ft", "LSU-OUNCE"),
        _mean_run(run),
        Working(gettext_noop("mean catch"), caught, "fl oz", "PES-SPRAY-GUN"),
        flow=flow_gal_per_min(caught, Unit.FLUID_OUNCE, run),
        findings=[*findings_on_runs(seconds), *findings_on_runs(caught_fl_oz)],
    )


def by_timed_area(
    *,
    area_sq_ft: Number,
    seconds: Sequence[Number],
    caught_gallons: Sequence[Number],
    seconds_caught: Number | None = None,
) -> Output:
    """Return the output by timing an area and catching the spray.

    area_sq_ft: 1,000 square feet, or a smaller test area that is scaled up
    seconds: of each timed run over it
    caught_gallons: each catch; seconds_caught: how long it took, as long as the mean run if None

    Raise TooFewRuns for fewer than three runs; one catch will do [PES-SPRAY-GUN].

    >>> by_timed_area(area_sq_ft=1000, seconds=[77, 79, 78],
    ...               caught_gallons=[Decimal("5.25")]).gallons_per_acre
    Decimal('228.69')
    """
    run, caught = mean_of_runs(seconds), mean_catch(caught_gallons)
    held = run if seconds_caught is None else seconds_caught
    output = output_of_timed_plot(caught, area_sq_ft, seconds_to_cover=run, seconds_caught=held)
    return _output(
        gallons_per_acre(output),
        "PES-SPRAY-GUN",
        _mean_run(run),
        Working(gettext_noop("mean catch"), caught, "gal", "PES-SPRAY-GUN"),
        flow=flow_gal_per_min(caught, Unit.GALLON, held),
        findings=[*findings_on_runs(seconds), *findings_on_runs(caught_gallons)],
    )


def by_refilling(*, used_gallons: Sequence[Number], length_ft: Number, swath_ft: Number) -> Output:
    """Return the output by what refills the tank after a course.

    used_gallons: to fill up again after each run; length_ft, swath_ft: of the course

    Raise TooFewRuns for fewer than three runs [FL-STUDY-213].

    >>> by_refilling(used_gallons=[12, 12, 12], length_ft=660, swath_ft=10).gallons_per_acre
    Decimal('79.2')
    """
    used = mean_of_runs(used_gallons)
    return _output(
        gallons_per_acre_by_refilling(used, length_ft, swath_ft),
        "FL-STUDY-213",
        Working(gettext_noop("mean refill"), used, "gal", "PES-SPRAY-GUN"),
        findings=findings_on_runs(used_gallons),
    )


def by_flow_and_speed(
    *,
    caught_fl_oz: Sequence[Number],
    seconds_caught: Number,
    distance_ft: Number,
    seconds: Sequence[Number],
    spacing_inches: Number,
) -> Output:
    """Return the output of a boom by the flow of its nozzles and the speed on the ground.

    caught_fl_oz: of each nozzle in order, each in `seconds_caught`
    distance_ft, seconds: of each timed run; spacing_inches: between nozzles

    Raise TooFewRuns for fewer than three runs [MSU-MT200014].

    >>> round(by_flow_and_speed(caught_fl_oz=[101], seconds_caught=60, distance_ft=200,
    ...                         seconds=[45, 45, 45], spacing_inches=18).gallons_per_acre, 1)
    Decimal('85.9')
    """
    caught, run = mean_catch(caught_fl_oz), mean_of_runs(seconds)
    flow = flow_gal_per_min(caught, Unit.FLUID_OUNCE, seconds_caught)
    speed = speed_mph(distance_ft, run)
    return _output(
        gallons_per_acre_of_boom(flow, speed, spacing_inches),
        "MSU-MT200014",
        _mean_run(run),
        Working(gettext_noop("speed"), speed, "mph", "MSU-MT200014"),
        Working(gettext_noop("flow of a nozzle"), flow, "gal/min", "MSU-MT200014"),
        flow=as_decimal(exact(flow) * len(caught_fl_oz)),
        findings=findings_on_runs(seconds),
    )


def by_flow_and_speed_metric(
    *,
    caught_l: Sequence[Number],
    seconds_caught: Number,
    distance_m: Number,
    seconds: Sequence[Number],
    spacing_m: Number,
) -> Output:
    """Return the output of a boom measured in metric units.

    caught_l: litres of each nozzle in order, each in `seconds_caught`
    distance_m, seconds: of each timed run; spacing_m: between nozzles, in metres

    600 times litres a minute over km/h and metres, from the units alone [NIST-SP811].  Raise
    TooFewRuns for fewer than three runs.

    >>> [str(round(line.amount, 1)) for line in by_flow_and_speed_metric(
    ...     caught_l=[Decimal("1.2")], seconds_caught=60, distance_m=100, seconds=[60, 60, 60],
    ...     spacing_m=Decimal("0.5")).workings]
    ['60.0', '6.0', '1.2', '240.0']
    """
    caught, run = mean_catch(caught_l), mean_of_runs(seconds)
    flow = as_decimal(exact(caught) * 60 / positive("The time", seconds_caught))
    speed = as_decimal(positive("The distance", distance_m) * 36 / (exact(run) * 10))
    litres = litres_per_hectare_of_boom(flow, speed, spacing_m)
    flow_gal = exact_convert(flow, Unit.LITRE, Unit.GALLON) * len(caught_l)
    return _output(
        gallons_per_acre_from_metric(litres),
        "NIST-SP811",
        _mean_run(run),
        Working(gettext_noop("speed"), speed, "km/h", "NIST-SP811"),
        Working(gettext_noop("flow of a nozzle"), flow, "L/min", "NIST-SP811"),
        Working(gettext_noop("output"), litres, "L/ha", "NIST-SP811"),
        flow=as_decimal(flow_gal),
        findings=findings_on_runs(seconds),
    )


def gallons_per_acre_from_metric(litres_per_hectare: Number) -> Decimal:
    """Return an output in gallons an acre from one in litres a hectare.

    One gallon an acre is 9.35 litres a hectare [PES-CONVERSIONS].

    >>> round(gallons_per_acre_from_metric(Decimal("9.354")), 3)
    Decimal('1.000')
    """
    gallons = exact_convert(positive("The output", litres_per_hectare), Unit.LITRE, Unit.GALLON)
    return as_decimal(gallons / exact_convert(1, Unit.HECTARE, Unit.ACRE))


def worn_nozzles(caught: Sequence[Number], new_nozzle: Number | None = None) -> tuple[Finding, ...]:
    """Return what is said of nozzles by their catches over one and the same time.

    caught: of each nozzle in order, in one unit; new_nozzle: of a new one, else their mean serves

    Warned of beyond 5 % [MSU-MT200014], refused beyond 10 % [UGA-SB16].  One nozzle alone tells
    nothing without a new one.

    >>> [finding.code for finding in worn_nozzles([44, 44, 44, 50])]
    ['nozzle-wearing']
    """
    if new_nozzle is None and len(caught) < 2:
        return ()
    return tuple(findings_on_nozzles(caught, new_nozzle))


def mean_catch(caught: Sequence[Number]) -> Decimal:
    """Return the mean of catches, of which there is at least one, in their own unit.

    Raise AmountUnusable where nothing was caught.

    >>> mean_catch([25, 26])
    Decimal('25.5')
    """
    if not caught:
        raise AmountUnusable(NOTHING_CAUGHT)
    total = sum(positive("A catch", each) for each in caught)
    return as_decimal(exact(total) / len(caught))


def findings_on_runs(readings: Sequence[Number]) -> list[Finding]:
    """Return a warning when a run or catch lies more than 5 % off the mean of all.

    readings: in one unit; fewer than three say nothing [PES-SPRAY-GUN]

    >>> findings_on_runs([77, 79, 78])
    []
    """
    if len(readings) < FEWEST_RUNS:
        return []
    mean = mean_of_runs(readings)
    furthest = max(readings, key=lambda reading: abs(exact(reading) - exact(mean)))
    off = (exact(furthest) / exact(mean) - 1) * 100
    if abs(off) <= WIDEST_SPREAD_PERCENT:
        return []
    return [
        Finding(
            "runs-differ",
            Severity.WARNING,
            gettext_noop("A reading of %(reading)s lies %(percent)s %% off the mean."),
            gettext_noop("Keep pace and pressure even and measure again."),
            {"reading": as_decimal(exact(furthest)), "percent": f"{as_decimal(off):+.1f}"},
            "PES-SPRAY-GUN",
        )
    ]


def _mean_run(seconds: Decimal) -> Working:
    return Working(gettext_noop("mean run"), seconds, "s", "PES-SPRAY-GUN")


def _output(
    acre: Decimal,
    source: str,
    *workings: Working,
    flow: Decimal | None = None,
    findings: Sequence[Finding] = (),
) -> Output:
    return Output(
        gallons_per_acre=acre,
        gallons_per_1000_sq_ft=gallons_per_1000_sq_ft(acre),
        source=source,
        workings=workings,
        flow_gallons_per_minute=flow,
        findings=tuple(findings),
    )

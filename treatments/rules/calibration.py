"""What a sprayer puts out: plots, courses, refilling, booms and walking speed.

Water alone at the working pressure.  Output is told in gallons for an acre or for 1,000 square
feet; either follows from the other.
"""

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from fractions import Fraction

from treatments.rules.findings import Finding, Refused, Severity, gettext_noop
from treatments.rules.units import SQUARE_FEET_PER_ACRE, Number, as_decimal, exact, positive

PLOT_SQ_FT = Decimal("340.3125")  # 1/128 acre, so that fluid ounces read as gallons [LSU-OUNCE]
BOOM_FACTOR = 5940  # 43,560 x 12 / 88, for inches and miles an hour [MSU-MT200014]
METRIC_FACTOR = 600  # 10,000 m2 x 60 min / 1,000 m, for metres and km/h
FEET_A_MINUTE_PER_MPH = 88  # [MSU-MT200014]
FEWEST_RUNS = 3  # [PES-SPRAY-GUN]
LARGEST_DRIFT_PERCENT = 5  # [PES-SPRAY-GUN]
MORE_RUNS = gettext_noop("Time at least %(fewest)s runs; there are %(runs)s.")


class TooFewRuns(Refused):
    """A calibration was timed too few times to be averaged."""


def mean_of_runs(readings: Sequence[Number]) -> Decimal:
    """Return the mean of timed runs or catches, in their own unit.

    readings: at least three [PES-SPRAY-GUN]

    Raise TooFewRuns for fewer.

    >>> mean_of_runs([77, 79, 78])
    Decimal('78')
    """
    if len(readings) < FEWEST_RUNS:
        raise TooFewRuns(MORE_RUNS, fewest=FEWEST_RUNS, runs=len(readings))
    total = sum((positive("A reading", reading) for reading in readings), Fraction(0))
    return as_decimal(total / len(readings))


def course_ft(swath_inches: Number, multiple: Number = 1) -> Decimal:
    """Return how long a course of 1/128 acre is, in feet.

    swath_inches: width sprayed, in inches
    multiple: a longer course, so many times 1/128 acre; the catch is then as many times larger

    340 square feet over the swath [LSU-OUNCE].

    >>> round(course_ft(20), 1)
    Decimal('204.2')
    """
    area = positive("The multiple", multiple) * exact(PLOT_SQ_FT)
    return as_decimal(area * 12 / positive("The swath", swath_inches))


def gallons_per_acre_caught(
    caught_fl_oz: Number, plot_sq_ft: Number = PLOT_SQ_FT, multiple: Number = 1
) -> Decimal:
    """Return the output from a catch over the time that a plot takes, in gallons an acre.

    caught_fl_oz: in that time, in fluid ounces
    plot_sq_ft: the plot, in square feet; on 1/128 acre the ounces are the gallons
    multiple: as in `course_ft`, where the plot is that of one course

    [LSU-OUNCE]; a plot of 18.5 by 18.5 feet is 0.57 % larger than 1/128 acre.

    >>> gallons_per_acre_caught(25)
    Decimal('25')
    """
    plot = positive("The plot", plot_sq_ft) * positive("The multiple", multiple)
    gallons = positive("The catch", caught_fl_oz) / 128
    return as_decimal(gallons * SQUARE_FEET_PER_ACRE / plot)


def output_of_timed_plot(
    caught_gallons: Number,
    area_sq_ft: Number,
    *,
    seconds_to_cover: Number = 1,
    seconds_caught: Number = 1,
) -> Decimal:
    """Return the output in gallons for 1,000 square feet, from a plot and a catch.

    caught_gallons: caught in `seconds_caught`
    area_sq_ft: plot covered in `seconds_to_cover`; leave both out when the times are the same

    [PES-SPRAY-GUN]

    >>> output_of_timed_plot(Decimal("1.25"), 250)
    Decimal('5')
    """
    flow = positive("The catch", caught_gallons) / positive("The time", seconds_caught)
    used = flow * positive("The time", seconds_to_cover)
    return as_decimal(used * 1000 / positive("The area", area_sq_ft))


def gallons_per_acre_by_refilling(
    used_gallons: Number, length_ft: Number, swath_ft: Number
) -> Decimal:
    """Return the output in gallons an acre, from what refills the tank after a course.

    used_gallons: to fill up again; length_ft, swath_ft: of the course, in feet

    [FL-STUDY-213]

    >>> gallons_per_acre_by_refilling(12, 660, 10)
    Decimal('79.2')
    """
    area = positive("The length", length_ft) * positive("The swath", swath_ft)
    return as_decimal(positive("The spray used", used_gallons) * SQUARE_FEET_PER_ACRE / area)


def gallons_per_1000_sq_ft(gallons_per_acre: Number) -> Decimal:
    """Return the output for 1,000 square feet from that for an acre [OSU-OKC-2013].

    >>> round(gallons_per_1000_sq_ft(40), 2)
    Decimal('0.92')
    """
    return as_decimal(positive("The output", gallons_per_acre) * 1000 / SQUARE_FEET_PER_ACRE)


def gallons_per_acre(gallons_per_1000_sq_ft: Number) -> Decimal:
    """Return the output for an acre from that for 1,000 square feet [PES-SPRAY-GUN].

    >>> gallons_per_acre(Decimal("5.25"))
    Decimal('228.69')
    """
    return as_decimal(positive("The output", gallons_per_1000_sq_ft) * SQUARE_FEET_PER_ACRE / 1000)


def gallons_per_acre_of_boom(
    flow_gal_per_min: Number, speed_mph: Number, width_inches: Number
) -> Decimal:
    """Return a boom's output in gallons an acre.

    flow_gal_per_min: of one nozzle, or of all; speed_mph: in miles an hour
    width_inches: between nozzles for one nozzle's flow, or the whole swath

    5,940 times flow over speed and width [MSU-MT200014].

    >>> gallons_per_acre_of_boom(1, 3, 120)
    Decimal('16.5')
    """
    ground = positive("The speed", speed_mph) * positive("The width", width_inches)
    return as_decimal(BOOM_FACTOR * positive("The flow", flow_gal_per_min) / ground)


def boom_flow_gal_per_min(
    gallons_per_acre: Number, speed_mph: Number, width_inches: Number
) -> Decimal:
    """Return the flow a boom needs for an output, in gallons a minute [MSU-MT200014].

    gallons_per_acre: the output wanted; speed_mph, width_inches: as for the boom's output

    >>> round(boom_flow_gal_per_min(30, 7, 30), 2)
    Decimal('1.06')
    """
    ground = positive("The speed", speed_mph) * positive("The width", width_inches)
    return as_decimal(positive("The output", gallons_per_acre) * ground / BOOM_FACTOR)


def boom_speed_mph(
    flow_gal_per_min: Number, gallons_per_acre: Number, width_inches: Number
) -> Decimal:
    """Return the speed at which a flow gives an output, in miles an hour [MSU-MT200014].

    flow_gal_per_min, width_inches: as for the boom's output; gallons_per_acre: the output wanted

    >>> round(boom_speed_mph(10, 30, 420), 1)
    Decimal('4.7')
    """
    spread = positive("The output", gallons_per_acre) * positive("The width", width_inches)
    return as_decimal(BOOM_FACTOR * positive("The flow", flow_gal_per_min) / spread)


def litres_per_hectare_of_boom(
    flow_l_per_min: Number, speed_km_per_h: Number, width_m: Number
) -> Decimal:
    """Return a boom's output in litres a hectare.

    flow_l_per_min: in litres a minute; speed_km_per_h: in kilometres an hour; width_m: in metres

    600 times flow over speed and width, from the units alone [NIST-SP811].

    >>> litres_per_hectare_of_boom(Decimal("1.2"), 6, Decimal("0.5"))
    Decimal('240')
    """
    ground = positive("The speed", speed_km_per_h) * positive("The width", width_m)
    return as_decimal(METRIC_FACTOR * positive("The flow", flow_l_per_min) / ground)


def speed_mph(distance_ft: Number, seconds: Number) -> Decimal:
    """Return the speed over a course, in miles an hour.

    distance_ft: in feet; seconds: in seconds

    One mile an hour is 88 feet a minute [MSU-MT200014].

    >>> round(speed_mph(200, 45), 2)
    Decimal('3.03')
    """
    a_minute = positive("The distance", distance_ft) * 60 / positive("The time", seconds)
    return as_decimal(a_minute / FEET_A_MINUTE_PER_MPH)


def seconds_over(distance_ft: Number, speed_mph: Number) -> Decimal:
    """Return how many seconds a course takes at a speed [PES-CONVERSIONS].

    distance_ft: in feet; speed_mph: in miles an hour

    >>> round(seconds_over(100, 1))
    68
    """
    a_minute = positive("The speed", speed_mph) * FEET_A_MINUTE_PER_MPH
    return as_decimal(positive("The distance", distance_ft) * 60 / a_minute)


def percent_off(measured: Number, intended: Number) -> Decimal:
    """Return by how many per cent a measure is off what was intended; less is negative.

    measured, intended: in one unit

    >>> percent_off(Decimal("15.78"), 16)
    Decimal('-1.375')
    """
    return as_decimal((exact(measured) / positive("The intended", intended) - 1) * 100)


def findings_on_use(used_gallons: Number, planned_gallons: Number) -> list[Finding]:
    """Return a warning when a job took much more or less spray than was planned.

    used_gallons, planned_gallons: finished spray, in US gallons

    Trainers allow 5 % [PES-SPRAY-GUN]; beyond it the sprayer is calibrated anew.

    >>> findings_on_use(105, 100)
    []
    """
    off = percent_off(used_gallons, planned_gallons)
    if abs(off) <= LARGEST_DRIFT_PERCENT:
        return []
    return [
        Finding(
            "output-drifted",
            Severity.WARNING,
            gettext_noop("The job took %(percent)s %% of spray against the plan."),
            gettext_noop("Calibrate the sprayer again."),
            {"percent": f"{off:+.1f}"},
            "PES-SPRAY-GUN",
        )
    ]


def findings_on_age(calibrated_on: date, today: date, days_valid: int = 365) -> list[Finding]:
    """Return a warning when a calibration has run out.

    calibrated_on, today: days; days_valid: how long it holds, at most a year [MSU-MT200914AG]

    A new nozzle, pump, operator or pressure ends it sooner.

    >>> findings_on_age(date(2026, 3, 1), date(2027, 3, 1))
    []
    """
    expires_on = calibrated_on + timedelta(days=days_valid)
    if today <= expires_on:
        return []
    return [
        Finding(
            "calibration-expired",
            Severity.WARNING,
            gettext_noop("The calibration of %(day)s ran out on %(expired)s."),
            gettext_noop("Calibrate the sprayer again."),
            {"day": calibrated_on, "expired": expires_on},
            "MSU-MT200914AG",
        )
    ]

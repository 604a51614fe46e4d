"""Calibrations: a worksheet's readings worked out, and kept with what they come to."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django.core.exceptions import ValidationError
from django.db import transaction
from django.utils import timezone
from django.utils.formats import date_format
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from treatments.models import Applicator, Calibration, Sprayer
from treatments.rules import worksheets
from treatments.rules.calibration import FEWEST_RUNS
from treatments.rules.findings import Severity, say_refusal
from treatments.rules.worksheets import Output, worn_nozzles

Method = Calibration.Method
Readings = Mapping[str, Any]
TIMED_SQ_FT = 1000
HOLDS_DAYS = 365  # at most a year [MSU-MT200914AG]
THOUSANDTH = Decimal("0.001")
MOST_NOZZLES = 8
RUNS = 5  # as many as the worksheet has room for


@dataclass(frozen=True, slots=True)
class Reading:
    """One thing that a worksheet asks for.

    room: how many readings of it there is room for; fewest: how many it needs
    """

    name: str
    label: Any
    unit: str
    room: int = 1
    fewest: int = 1
    hint: Any = ""


@dataclass(frozen=True, slots=True)
class Worksheet:
    """A method of calibration: what is read, and how it is worked out.

    name: as it stands in an address
    by_nozzle: the reading that has one catch for each nozzle
    """

    name: str
    method: Method
    how: Any
    readings: tuple[Reading, ...]
    work: Callable[..., Output]
    by_nozzle: str = "nozzle_catches"


SECONDS = Reading(
    "seconds", gettext_lazy("each run"), "s", RUNS, FEWEST_RUNS, gettext_lazy("At least three.")
)
CAUGHT_FOR = Reading("seconds_caught", gettext_lazy("caught for"), "s")
CAUGHT_GALLONS = Reading(
    "caught_gallons",
    gettext_lazy("each catch"),
    "gal",
    RUNS,
    hint=gettext_lazy("From all nozzles together."),
)
HELD = Reading(
    "seconds_caught",
    gettext_lazy("caught for"),
    "s",
    fewest=0,
    hint=gettext_lazy("Empty where you caught for as long as the mean run."),
)
NOZZLES = Reading(
    "nozzle_catches",
    gettext_lazy("each nozzle, caught for one and the same time"),
    "fl oz",
    MOST_NOZZLES,
    0,
    gettext_lazy("One catch a nozzle, to see which is worn."),
)
NEW_NOZZLE = Reading(
    "new_nozzle",
    gettext_lazy("a new nozzle, for the same time"),
    "fl oz",
    fewest=0,
    hint=gettext_lazy("Without it the nozzles are held against their mean."),
)

WORKSHEETS = {
    sheet.method: sheet
    for sheet in [
        Worksheet(
            "ounces",
            Method.ONE_128TH,
            gettext_lazy(
                "Mark the course for your width, time it as you spray, then catch for as long: "
                "the fluid ounces are the gallons an acre."
            ),
            (
                Reading(
                    "swath_inches",
                    gettext_lazy("width sprayed"),
                    "in",
                    hint=gettext_lazy("Between nozzles where you catch one of several."),
                ),
                SECONDS,
                Reading("caught_fl_oz", gettext_lazy("each catch"), "fl oz", RUNS, FEWEST_RUNS),
                NOZZLES,
                NEW_NOZZLE,
            ),
            worksheets.by_ounces,
        ),
        Worksheet(
            "timed",
            Method.TIMED,
            gettext_lazy("Time yourself over 1,000 square feet, then catch for as long."),
            (SECONDS, CAUGHT_GALLONS, HELD, NOZZLES, NEW_NOZZLE),
            worksheets.by_timed_area,
        ),
        Worksheet(
            "test-area",
            Method.TEST_AREA,
            gettext_lazy("The same on a smaller area, such as 250 square feet, and scaled up."),
            (
                Reading("area_sq_ft", gettext_lazy("area"), "sq ft"),
                SECONDS,
                CAUGHT_GALLONS,
                HELD,
                NOZZLES,
                NEW_NOZZLE,
            ),
            worksheets.by_timed_area,
        ),
        Worksheet(
            "refill",
            Method.REFILL,
            gettext_lazy("Fill to a mark, spray a course, and measure what fills it up again."),
            (
                Reading("length_ft", gettext_lazy("length of the course"), "ft"),
                Reading("swath_ft", gettext_lazy("width sprayed"), "ft"),
                Reading("used_gallons", gettext_lazy("each refill"), "gal", RUNS, FEWEST_RUNS),
                NOZZLES,
                NEW_NOZZLE,
            ),
            worksheets.by_refilling,
        ),
        Worksheet(
            "flow-and-speed",
            Method.FLOW,
            gettext_lazy("Catch every nozzle for one and the same time, and time your speed."),
            (
                Reading("spacing_inches", gettext_lazy("between nozzles"), "in"),
                Reading("caught_fl_oz", gettext_lazy("each nozzle"), "fl oz", MOST_NOZZLES),
                CAUGHT_FOR,
                Reading("distance_ft", gettext_lazy("distance"), "ft"),
                SECONDS,
                NEW_NOZZLE,
            ),
            worksheets.by_flow_and_speed,
            by_nozzle="caught_fl_oz",
        ),
        Worksheet(
            "metric",
            Method.METRIC,
            gettext_lazy("The same in liters and meters."),
            (
                Reading("spacing_m", gettext_lazy("between nozzles"), "m"),
                Reading("caught_l", gettext_lazy("each nozzle"), "L", MOST_NOZZLES),
                CAUGHT_FOR,
                Reading("distance_m", gettext_lazy("distance"), "m"),
                SECONDS,
                replace(NEW_NOZZLE, unit="L"),
            ),
            worksheets.by_flow_and_speed_metric,
            by_nozzle="caught_l",
        ),
    ]
}


def work_out(method: str, readings: Readings) -> Output:
    """Return what the readings of a worksheet come to, with what is said of them.

    readings: by name, a decimal, or a list where there is room for several

    Raise ValidationError where something is missing or there are too few runs.
    """
    sheet = WORKSHEETS[Method(method)]
    told = {each.name: _told(each, readings.get(each.name)) for each in sheet.readings}
    refuse_too_few(sheet, told)
    given: dict[str, Any] = {
        name: value
        for name, value in told.items()
        if name not in ("nozzle_catches", "new_nozzle") and value not in (None, [])
    }
    if method == Method.TIMED:
        given["area_sq_ft"] = TIMED_SQ_FT
    try:
        output = sheet.work(**given)
        worn = worn_nozzles(told[sheet.by_nozzle], told["new_nozzle"])
    except ValueError as reason:
        raise ValidationError(say_refusal(reason, _), code="unusable") from reason
    return Output(
        output.gallons_per_acre,
        output.gallons_per_1000_sq_ft,
        output.source,
        output.workings,
        output.flow_gallons_per_minute,
        (*output.findings, *worn),
    )


def _told(reading: Reading, value: Any) -> Any:
    if reading.room == 1:
        return value
    return [each for each in value or [] if each is not None]


def refuse_too_few(sheet: Worksheet, told: Readings) -> None:
    """Raise ValidationError, by reading, where fewer were told than the worksheet needs."""
    short = {
        each.name: _too_few(each, told[each.name])
        for each in sheet.readings
        if _number_of(told[each.name]) < each.fewest
    }
    if short:
        raise ValidationError(short)


def _number_of(value: Any) -> int:
    return len(value) if isinstance(value, list) else int(value is not None)


def _too_few(reading: Reading, value: Any) -> ValidationError:
    if reading.fewest < FEWEST_RUNS:
        return ValidationError(_("The worksheet needs this."), code="required")
    return ValidationError(
        _("Measure at least %(fewest)s times; there are %(told)s readings."),
        params={"fewest": reading.fewest, "told": _number_of(value)},
        code="too_few_runs",
    )


@transaction.atomic
def keep_calibration(
    *,
    sprayer: Sprayer,
    method: str,
    readings: Readings,
    nozzle: str,
    calibrated_on: date,
    person: Applicator | None = None,
    pressure_psi: Decimal | None = None,
    expires_on: date | None = None,
) -> Calibration:
    """Keep what a worksheet comes to with its readings; the same one told twice is kept once.

    It holds a year at most.  Raise ValidationError where a nozzle is worn or runs are too few.
    """
    output = work_out(method, readings)
    refuse_worn(output)
    refuse_future(calibrated_on)
    flow = output.flow_gallons_per_minute
    calibration = Calibration(
        sprayer=sprayer,
        person=person,
        nozzle=nozzle,
        pressure_psi=pressure_psi,
        method=method,
        gallons_per_1000_sq_ft=output.gallons_per_1000_sq_ft.quantize(THOUSANDTH),
        flow_gallons_per_minute=None if flow is None else flow.quantize(THOUSANDTH),
        readings=written(method, readings),
        calibrated_on=calibrated_on,
        expires_on=expiry(calibrated_on, expires_on),
    )
    calibration.full_clean()
    if known := _told_before(calibration):
        return known
    calibration.save()
    return calibration


def refuse_worn(output: Output) -> None:
    """Raise ValidationError with the sentence of each nozzle that has to be replaced first."""
    worn = [each for each in output.findings if each.severity is Severity.REFUSAL]
    if worn:
        sentences = [f"{each.say(_)} {each.say_remedy(_)}" for each in worn]
        raise ValidationError([ValidationError(each, code="nozzle_worn") for each in sentences])


def refuse_future(calibrated_on: date) -> None:
    """Raise ValidationError for a day that has come nowhere on earth."""
    if calibrated_on > timezone.localdate() + timedelta(days=1):
        late = ValidationError(_("That day has not come."), code="future")
        raise ValidationError({"calibrated_on": late})


def expiry(calibrated_on: date, asked: date | None) -> date:
    """Return the last day of a calibration: a year on, or sooner if that is asked."""
    latest = calibrated_on + timedelta(days=HOLDS_DAYS)
    if asked is not None and asked > latest:
        raise ValidationError(
            {
                "expires_on": ValidationError(
                    _("A calibration holds a year at most, to %(day)s."),
                    params={"day": date_format(latest, "SHORT_DATE_FORMAT")},
                    code="too_long",
                )
            }
        )
    return asked or latest


def written(method: str, readings: Readings) -> list[dict[str, Any]]:
    """Return the readings as they are kept: each with its name, its values and its unit."""
    sheet = WORKSHEETS[Method(method)]
    told = [(each, _told(each, readings.get(each.name))) for each in sheet.readings]
    return [
        {"name": each.name, "values": _texts(value), "unit": each.unit}
        for each, value in told
        if value not in (None, [])
    ]


def _texts(value: Sequence[Decimal] | Decimal) -> list[str]:
    return [f"{Decimal(each).normalize():f}" for each in _listed(value)]


def _listed(value: Any) -> list[Any]:
    return value if isinstance(value, list) else [value]


def _told_before(calibration: Calibration) -> Calibration | None:
    alike = Calibration.objects.filter(
        sprayer=calibration.sprayer,
        person=calibration.person,
        nozzle=calibration.nozzle,
        pressure_psi=calibration.pressure_psi,
        method=calibration.method,
        calibrated_on=calibration.calibrated_on,
        expires_on=calibration.expires_on,
    )
    return next((each for each in alike if each.readings == calibration.readings), None)

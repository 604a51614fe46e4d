"""How much spray a job takes, and from where that is known."""

from dataclasses import dataclass, field
from decimal import Decimal

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from treatments.mixing.asked import Asked
from treatments.mixing.label import LabelRange
from treatments.models import Calibration, WaterTest
from treatments.preparing import known_output
from treatments.rules.findings import Finding
from treatments.rules.mix_findings import findings_on_output, findings_on_test_age
from treatments.rules.mixing import CalibrationMissing
from treatments.rules.spray_volume import spray_for_area, spray_for_plants
from treatments.rules.units import Basis, as_decimal, exact
from treatments.water_testing import findings_on_test, latest_test


@dataclass(frozen=True, slots=True)
class Volume:
    """The finished spray of a job.

    area_sq_ft: the ground it is for, with the allowance where the rate is a dose on the ground
    output_gal_per_1000_sq_ft: what it comes to on the ground, where that is known
    words: from where it is known; source: a key, "label" or "common practice"
    """

    gallons: Decimal
    area_sq_ft: Decimal | None
    output_gal_per_1000_sq_ft: Decimal | None
    words: str
    source: str
    findings: list[Finding] = field(default_factory=list)


def volume_of(asked: Asked, label: LabelRange, calibration: Calibration | None) -> Volume:
    """Return the spray that a job takes: as typed, by plants, or by the area and an output.

    Raise CalibrationMissing where nobody knows it.
    """
    own = calibration.gallons_per_1000_sq_ft if calibration else None
    area = asked.target.area()
    if asked.spray_gallons is not None:
        output = _on_the_ground(asked.spray_gallons, area) if area else own
        said = findings_on_output(own, output) if output and _is_dose(asked) else []
        return Volume(asked.spray_gallons, area, output, _("as it was typed"), "", said)
    plants, each = asked.target.number_of_plants(), asked.target.gallons_per_plant
    if each is not None and plants:
        gallons = _with_allowance(spray_for_plants(each, plants), asked.allowance_percent)
        words = _("%(plants)s plants, each wetted to just before runoff") % {"plants": plants}
        return Volume(gallons, area, own, words, "PES-HOSE-END")
    return _by_area(asked, label, calibration)


def _by_area(asked: Asked, label: LabelRange, calibration: Calibration | None) -> Volume:
    area = asked.target.area()
    # A test speaks of the planting it was made on, not of an area typed in its stead.
    planting = asked.target.planting if asked.target.area_sq_ft is None else None
    known = known_output(label.gallons_per_1000_sq_ft, calibration, planting, Basis(asked.basis))
    if area is None or known is None:
        raise CalibrationMissing(_nobody_knows(asked))
    ground = _with_allowance(area, asked.allowance_percent) if _is_dose(asked) else area
    test = latest_test(planting) if planting and known.source == "water test" else None
    return Volume(
        spray_for_area(area, known.gallons_per_1000_sq_ft, asked.allowance_percent),
        ground,
        known.gallons_per_1000_sq_ft,
        _words(known.source, calibration, test),
        SOURCES[known.source],
        _said(asked, known.gallons_per_1000_sq_ft, calibration, test),
    )


SOURCES = {"label": "label", "calibration": "MD0173", "water test": "common practice"}


def _said(
    asked: Asked, output: Decimal, calibration: Calibration | None, test: WaterTest | None
) -> list[Finding]:
    if test is not None:
        return [
            *findings_on_test(test, test.planting),
            *findings_on_test_age(test.tested_on, asked.day),
        ]
    if not _is_dose(asked):
        return []
    own = calibration.gallons_per_1000_sq_ft if calibration else None
    return findings_on_output(own, output)


def _words(source: str, calibration: Calibration | None, test: WaterTest | None) -> str:
    if test is not None:
        return _("the test with water of %(day)s") % {
            "day": date_format(test.tested_on, "SHORT_DATE_FORMAT")
        }
    if calibration is None or source == "label":
        return _("the label's own gallons for 1,000 sq ft")
    return _("the calibration of %(day)s, %(person)s, %(nozzle)s") % {
        "day": date_format(calibration.calibrated_on, "SHORT_DATE_FORMAT"),
        "person": calibration.person or _("in anybody's hands"),
        "nozzle": calibration.nozzle,
    }


def _nobody_knows(asked: Asked) -> str:
    if asked.target.area() is None:
        return _("Give a planting, an area, or plants with the water that one takes.")
    facts = {"sprayer": asked.sprayer, "day": date_format(asked.day, "SHORT_DATE_FORMAT")}
    if _is_dose(asked):
        return (
            _(
                "A dose on the ground cannot be mixed: %(sprayer)s has no calibration in this "
                "person's hands that holds on %(day)s."
            )
            % facts
        )
    return (
        _(
            "Nobody knows how much spray it takes: %(sprayer)s has no calibration that holds on "
            "%(day)s, and no test with water was made here."
        )
        % facts
    )


def _is_dose(asked: Asked) -> bool:
    return not Basis(asked.basis).is_concentration


def _on_the_ground(gallons: Decimal, area_sq_ft: Decimal) -> Decimal:
    return as_decimal(exact(gallons) * 1000 / exact(area_sq_ft))


def _with_allowance(amount: Decimal, percent: Decimal) -> Decimal:
    return as_decimal(exact(amount) * (1 + exact(percent) / 100))

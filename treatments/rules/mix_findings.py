"""What is to be said of a mix beside its tanks: the sprayer's output, the test with water."""

from datetime import date, timedelta

from treatments.rules.calibration import LARGEST_DRIFT_PERCENT, percent_off
from treatments.rules.findings import Finding, Severity, gettext_noop
from treatments.rules.units import Number, as_decimal, exact

TEST_HOLDS_DAYS = 365  # plants grow within a season; this project's choice


def findings_on_output(calibrated: Number | None, intended: Number) -> list[Finding]:
    """Return a warning when a sprayer puts out more or less than a mix is meant for.

    calibrated, intended: gallons on 1,000 square feet; None where no calibration holds

    Trainers allow 5 % [PES-SPRAY-GUN].

    >>> findings_on_output(5, 5)
    []
    """
    if calibrated is None:
        return [
            Finding(
                "not-calibrated",
                Severity.WARNING,
                gettext_noop("No calibration of the sprayer in this person's hands holds."),
                gettext_noop("Calibrate it; until then nobody knows the dose on the ground."),
                source="PES-SPRAY-GUN",
            )
        ]
    off = percent_off(calibrated, intended)
    if abs(off) <= LARGEST_DRIFT_PERCENT:
        return []
    return [
        Finding(
            "output-differs",
            Severity.WARNING,
            gettext_noop(
                "The sprayer puts out %(calibrated)s gal on 1,000 sq ft and the mix is for "
                "%(intended)s: %(percent)s %%."
            ),
            gettext_noop("Change nozzle or pace and calibrate again, or mix for its own output."),
            {
                "calibrated": round(as_decimal(exact(calibrated)), 3),
                "intended": round(as_decimal(exact(intended)), 3),
                "percent": f"{off:+.1f}",
            },
            "PES-SPRAY-GUN",
        )
    ]


def findings_on_test_age(tested_on: date, today: date) -> list[Finding]:
    """Return a note when a test with water is more than a year old: common practice.

    >>> findings_on_test_age(date(2026, 5, 1), date(2027, 5, 1))
    []
    """
    if today <= tested_on + timedelta(days=TEST_HOLDS_DAYS):
        return []
    return [
        Finding(
            "water-test-old",
            Severity.NOTE,
            gettext_noop("The test with water is of %(day)s; the plants have grown since."),
            gettext_noop("Wet a strip of it with water and measure again."),
            {"day": tested_on},
            "common practice",
        )
    ]

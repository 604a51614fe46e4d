"""What a hose-end sprayer or an injector is set to, and what it uses of the concentrate."""

from dataclasses import dataclass
from decimal import Decimal

from django.utils.translation import gettext as _

from treatments.mixing.asked import AskedOfHose
from treatments.mixing.label import LabelRange, label_range
from treatments.mixing.tanks import UNMIXABLE
from treatments.models import Calibration
from treatments.preparing import output_of
from treatments.rules.findings import Finding, refuses, say_refusal
from treatments.rules.hose_end import (
    DialTooCoarse,
    cautions_at_the_hose,
    concentrate_used_fl_oz,
    dial_needed,
    dial_to_set,
    findings_on_dial,
    injection_ratio,
    injector_flow_fl_oz_per_min,
)
from treatments.rules.mix_findings import findings_on_output
from treatments.rules.mixing import CalibrationMissing, RateAboveLabel, refuse_rate_above_label
from treatments.rules.spray_volume import spray_for_area
from treatments.rules.units import Basis, Measure, as_decimal, exact


@dataclass(frozen=True, slots=True)
class Metered:
    """What a dial or injector is set to; without a setting `problem` says why there is none.

    needed, setting: fluid ounces of concentrate in a gallon
    water_gallons, minutes, concentrate_fl_oz: of the whole job, where they can be known
    ratio: n of 1:n in finished spray; injector_fl_oz_per_min: to draw, where the flow is known
    """

    asked: AskedOfHose
    problem: str = ""
    label: LabelRange | None = None
    calibration: Calibration | None = None
    output_gal_per_1000_sq_ft: Decimal | None = None
    needed: Measure | None = None
    setting: Decimal | None = None
    water_gallons: Decimal | None = None
    minutes: Decimal | None = None
    concentrate_fl_oz: Decimal | None = None
    ratio: Decimal | None = None
    injector_fl_oz_per_min: Decimal | None = None
    findings: tuple[Finding, ...] = ()

    @property
    def is_refused(self) -> bool:
        """Whether no setting may be shown."""
        return bool(self.problem) or refuses(list(self.findings))

    @property
    def cautions(self) -> list[Finding]:
        """What is to be minded with every one of them."""
        return cautions_at_the_hose()


def meter(asked: AskedOfHose) -> Metered:
    """Return what a dial is set to, downwards so that the label holds, and what it uses."""
    calibration = (
        output_of(asked.sprayer, asked.person, asked.day) if asked.sprayer is not None else None
    )
    label = None
    try:
        label = label_range(asked.product, asked.target.plant_group, asked.basis, asked.pest)
        refuse_rate_above_label(asked.rate, label.highest, Basis(asked.basis))
        return _metered(asked, label, calibration)
    except RateAboveLabel:
        problem = _("The rate is above what the label allows.")
    except CalibrationMissing:
        problem = _("A dose on the ground needs the gallons of water on 1,000 sq ft: calibrate.")
    except (*UNMIXABLE, DialTooCoarse) as reason:
        problem = say_refusal(reason, _)
    return Metered(asked, problem, label, calibration)


def _metered(asked: AskedOfHose, label: LabelRange, calibration: Calibration | None) -> Metered:
    own = calibration.gallons_per_1000_sq_ft if calibration else None
    output = asked.output_gal_per_1000_sq_ft or own or label.gallons_per_1000_sq_ft
    needed = dial_needed(asked.rate, Basis(asked.basis), output)
    setting = dial_to_set(needed.amount, asked.settings) if asked.settings else None
    measured = calibration.flow_gallons_per_minute if calibration else None
    flow = asked.flow_gal_per_min or measured
    water, minutes = _water(asked, output, flow)
    strength = setting if setting is not None else needed.amount
    return Metered(
        asked=asked,
        label=label,
        calibration=calibration,
        output_gal_per_1000_sq_ft=output,
        needed=needed,
        setting=setting,
        water_gallons=water,
        minutes=minutes,
        concentrate_fl_oz=None if water is None else _used(strength, water),
        ratio=injection_ratio(needed.amount),
        injector_fl_oz_per_min=injector_flow_fl_oz_per_min(needed.amount, flow) if flow else None,
        findings=tuple(_said(asked, needed, setting, own, output)),
    )


def _used(strength_fl_oz_per_gal: Decimal, water_gallons: Decimal) -> Decimal:
    return concentrate_used_fl_oz(strength_fl_oz_per_gal, water_gallons, 1)


def _water(
    asked: AskedOfHose, output: Decimal | None, flow: Decimal | None
) -> tuple[Decimal | None, Decimal | None]:
    """Return water and minutes: as long as the tap is open, else by the area."""
    area = asked.target.area()
    if asked.minutes is not None and flow:
        return as_decimal(exact(flow) * exact(asked.minutes)), asked.minutes
    if area is None or output is None:
        return None, asked.minutes
    water = spray_for_area(area, output)
    return water, as_decimal(exact(water) / exact(flow)) if flow else None


def _said(
    asked: AskedOfHose,
    needed: Measure,
    setting: Decimal | None,
    own: Decimal | None,
    output: Decimal | None,
) -> list[Finding]:
    said = [] if setting is None else findings_on_dial(needed.amount, setting)
    if Basis(asked.basis).is_concentration or output is None:
        return said
    typed = asked.output_gal_per_1000_sq_ft
    return [*said, *findings_on_output(own if own is not None else typed, output)]

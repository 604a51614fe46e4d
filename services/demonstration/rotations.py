"""Composes the rotations, and shows one that the book refuses."""

from collections import defaultdict
from datetime import date
from typing import Any

from services.demonstration.places import planting_of
from services.demonstration.reading import moment, read
from treatments.composing import FindingsStand, finding_key, keep_rotation
from treatments.models import Pest, Product, Rotation, RotationWeek
from treatments.rules.findings import Finding


def compose_all(first_day: date, by: Any) -> dict[str, Rotation]:
    """Keep the rotations that the season is made with, by their keys."""
    return {row["key"]: _keep(row, first_day, by) for row in read("rotations")["rotations"]}


def compose_for_today(first_day: date, by: Any) -> Rotation:
    """Keep the rotation of the main job, checked on the planting it is for."""
    return _keep(read("rotations")["composed"], first_day, by)


def attempt_refused(first_day: date, by: Any) -> list[Finding]:
    """Try to keep what the labels forbid, and return what was said; nothing is kept."""
    try:
        _keep(read("rotations")["refused"], first_day, by)
    except FindingsStand as stood:
        return stood.findings
    return []


def weeks_of(row: dict[str, Any]) -> list[RotationWeek]:
    """Return the weeks of a rotation, not kept yet."""
    return [
        _week(number, *told, at_dusk=number in row.get("at_dusk", []))
        for number, told in enumerate(row["weeks"], start=1)
    ]


def _week(
    number: int, what: str, rate: str, basis: str, purpose: str, *, at_dusk: bool
) -> RotationWeek:
    if not rate:
        return RotationWeek(week=number, step=what, purpose=purpose)
    return RotationWeek(
        week=number,
        product=Product.objects.get(name=what),
        rate=rate,
        basis=basis,
        purpose=purpose,
        at_dusk=at_dusk,
    )


def _keep(row: dict[str, Any], first_day: date, by: Any) -> Rotation:
    """Keep a rotation; warnings are accepted with the reasons that stand in the data."""
    told = {
        "name": row["name"],
        "pest": Pest.objects.get(common_name=row["pest"]),
        "plant_group": row["plant_group"],
        "weeks": weeks_of(row),
        "by": by,
        "first_day": first_day,
        "plantings": _plantings(row),
        "note": row.get("note", ""),
        "today": first_day,
        "at": moment(first_day, 6),
    }
    try:
        return keep_rotation(**told)
    except FindingsStand as stood:
        if stood.code != "reason_missing":
            raise
        return keep_rotation(**told, reasons=_reasons(stood.findings))


def _plantings(row: dict[str, Any]) -> list[Any]:
    return [planting_of(row["property"], row["planting"])] if "property" in row else []


def _reasons(findings: list[Finding]) -> dict[str, str]:
    given: dict[str, str] = defaultdict(str, read("rotations")["reasons"])
    return {finding_key(finding): given[finding.code] for finding in findings}

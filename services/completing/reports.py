"""What a crew reports of a visit, and how it becomes what a record is told."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID, uuid5

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy as _

from clients.models import Planting
from services.models import Visit
from services.telling.notices import notice_log
from treatments.models import Applicator, Lot, Product, Sprayer
from treatments.recording import Stated
from treatments.recording.flagging import Flag
from treatments.rules.facts import Conditions


@dataclass(frozen=True, slots=True)
class ApplicationReport:
    """What was applied on one planting.

    product_amount: in the unit the product is kept in; mix_gallons: of finished spray
    product, rate, rate_basis: those of the rotation's week, where they are not given
    copied: columns of the record as the crew saw them, where the book says other by now
    also: columns of the record that only some places ask for
    """

    planting: Planting
    lot: Lot | None
    product_amount: Decimal
    mix_gallons: Decimal
    rate: Decimal | None = None
    rate_basis: str = ""
    product: Product | None = None
    sprayer: Sprayer | None = None
    treated_area_sq_ft: Decimal | None = None
    plants: int | None = None
    protective_equipment: str = ""
    weather: str = ""
    incident: str = ""
    note: str = ""
    copied: Mapping[str, Any] = field(default_factory=dict)
    also: Mapping[str, str] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class VisitReport:
    """What was done at a visit, when, by whom and in what air.

    flags: what is known against it beside what is found here
    """

    reports: tuple[ApplicationReport, ...]
    conditions: Conditions | None
    started_at: datetime
    done_at: datetime
    applicator: Applicator | None
    by: User | None
    captured_at: datetime | None = None
    from_paper: bool = False
    posted_at: datetime | None = None
    note: str = ""
    form_id: UUID | None = None
    supervisor: Applicator | None = None
    flags: tuple[Flag, ...] = ()


def as_reported(visit: Visit) -> Visit:
    """Return a visit as it stands now, with what its records copy."""
    return (
        Visit.objects.with_all_that_is_shown()
        .select_related("course__rotation__composed_by")
        .get(pk=visit.pk)
    )


def event_of(report: ApplicationReport, form_id: UUID | None, product: Product) -> UUID | None:
    """Return the id of one application of a form: the same form gives the same ids."""
    if form_id is None:
        return None
    return uuid5(form_id, f"{report.planting.pk}:{product.pk}")


def product_of(report: ApplicationReport, visit: Visit) -> Product:
    """Return what was applied: the product of the week unless another was reported.

    Raise ValidationError where neither is known.
    """
    product = report.product or visit.rotation_week.product
    if product is None:
        raise ValidationError(_("Say which product was applied."), code="no_product")
    return product


def applicator_of(told: VisitReport) -> Applicator:
    """Return who applied; raise ValidationError where nobody said."""
    if told.applicator is None:
        raise ValidationError(_("Say who applied."), code="no_applicator")
    return told.applicator


def rate_of(report: ApplicationReport, visit: Visit) -> Decimal:
    """Return the rate of the week unless another was reported; raise ValidationError for none."""
    rate = visit.rotation_week.rate if report.rate is None else report.rate
    if rate is None:
        raise ValidationError(_("Say at which rate it was applied."), code="no_rate")
    return rate


def stated_of(report: ApplicationReport, visit: Visit, told: VisitReport) -> Stated:
    """Return what the record of an application is told."""
    certain: Stated = {
        "planting": report.planting,
        "product": product_of(report, visit),
        "pest": visit.course.rotation.pest,
        "lot": report.lot,
        "applicator": applicator_of(told),
        "rate": rate_of(report, visit),
        "rate_basis": report.rate_basis or visit.rotation_week.basis,
        "product_amount": report.product_amount,
        "mix_gallons": report.mix_gallons,
        "started_at": told.started_at,
        "done_at": told.done_at,
        "from_paper": told.from_paper,
    }
    return certain | _also_told(report, visit, told)


def _also_told(report: ApplicationReport, visit: Visit, told: VisitReport) -> Any:
    """Return what was told beyond what must be; what was left empty is not in it."""
    perhaps = {
        "supervisor": told.supervisor,
        "captured_at": told.captured_at,
        "conditions": told.conditions,
        "posted_at": told.posted_at,
        "sprayer": report.sprayer,
        "treated_area_sq_ft": report.treated_area_sq_ft,
        "plants": report.plants,
        "protective_equipment": report.protective_equipment,
        "weather": report.weather,
        "incident": report.incident,
        "note": report.note,
        "adjuvant": _adjuvant(visit),
        "recommender_name": _recommender(visit),
        "notices": notice_log(visit),
        **report.also,
    }
    given = {name: value for name, value in perhaps.items() if value not in (None, "")}
    return {**given, **report.copied}


def _adjuvant(visit: Visit) -> str:
    week = visit.rotation_week
    if week.adjuvant is None:
        return ""
    rate = f" {week.adjuvant_rate.normalize():f} fl oz/gal" if week.adjuvant_rate else ""
    return f"{week.adjuvant.name}{rate}"


def _recommender(visit: Visit) -> str:
    composer = visit.course.rotation.composed_by
    return composer.get_full_name() or composer.get_username() if composer else ""

"""Writes an estimate, frozen with its paper, and withdraws one."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.contrib.auth.models import User
from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max
from django.utils import translation
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from clients.models import Planting
from services.courses import put_on
from services.estimating.finding import found_on
from services.estimating.reckoning import PricedWeek, priced_weeks
from services.journaling import hashed, journal_package
from services.models import Estimate, EstimateWeek
from services.priced import priced_in_words
from services.printing.estimates import estimate_pdf
from services.rules.charging import Kind, Taxable, taxes_on
from services.statements.drafting import tax_rates, taxes_told
from services.statements.giving import lock_statements
from treatments.models import Rotation


class TriedOnly(Exception):
    """Raised to undo a course that was put on for a try."""


@transaction.atomic
def write_estimate(
    *,
    rotation: Rotation,
    plantings: Sequence[Planting],
    first_day: date,
    valid_until: date,
    prices: Mapping[int, Decimal],
    by: User | None,
    today: date,
    at: datetime,
    form_id: UUID,
    note: str = "",
) -> Estimate:
    """Write an estimate for plantings of one property; the same form writes it once.

    prices: of weeks whose price a person agreed; the others go by the price rules
    Raise ValidationError where the rules refuse the course, or a week has no price.
    """
    lock_statements()
    known = Estimate.objects.filter(form_id=form_id).first()
    if known is not None:
        return known
    _refuse_what_cannot_be(plantings, valid_until, today)
    would_be_put_on(rotation, plantings, first_day, by, today)
    place = plantings[0].property
    with translation.override(place.client.language):
        weeks = [
            _week(each, prices.get(each.visit.week))
            for each in priced_weeks(rotation, plantings, first_day)
        ]
        estimate = Estimate(
            number=(Estimate.objects.aggregate(last=Max("number"))["last"] or 0) + 1,
            property=place,
            rotation=rotation,
            first_day=first_day,
            valid_until=valid_until,
            language=place.client.language,
            found=found_on(plantings, rotation.pest),
            note=note,
            written_at=at,
            written_by=by,
            form_id=form_id,
            **_sums(weeks, estimate_place=place),
        )
        estimate.paper = estimate_pdf(estimate, weeks, plantings)
    told = hashed(f"estimate-{estimate.number}.pdf", estimate.paper)
    estimate.sha256 = str(told["sha256"])
    estimate.full_clean()
    estimate.save()
    estimate.plantings.set(plantings)
    for week in weeks:
        week.estimate = estimate
        week.full_clean()
    EstimateWeek.objects.bulk_create(weeks)
    journal_package([told], by, at)
    return estimate


def _refuse_what_cannot_be(plantings: Sequence[Planting], valid_until: date, today: date) -> None:
    if len({planting.property_id for planting in plantings}) != 1:
        raise ValidationError(gettext_lazy("An estimate is for plantings of one property."))
    if valid_until < today:
        raise ValidationError({"valid_until": gettext_lazy("This day has passed.")})


def would_be_put_on(
    rotation: Rotation,
    plantings: Sequence[Planting],
    first_day: date,
    by: User | None,
    today: date,
) -> None:
    """Raise ValidationError where a course may not be put on; nothing is put on by trying."""
    try:
        with transaction.atomic():
            put_on(rotation=rotation, plantings=plantings, first_day=first_day, by=by, today=today)
            raise TriedOnly
    except TriedOnly:
        return


def _week(each: PricedWeek, agreed: Decimal | None) -> EstimateWeek:
    amount, priced = each.charge.amount, priced_in_words(each.figures())
    if agreed is not None and agreed != amount:
        amount, priced = agreed, _("agreed price")
    if amount is None:
        raise ValidationError(
            gettext_lazy("Week %(week)s has no price: %(why)s"),
            params={"week": each.visit.week, "why": _(each.charge.why_not or "")},
            code="no_price",
        )
    return EstimateWeek(
        week=each.visit.week,
        day=each.visit.planned,
        words=words_of_week(each),
        priced=priced[:300],
        kind=each.charge.kind.value,
        amount=amount,
    )


def words_of_week(each: PricedWeek) -> str:
    """Return what is proposed for a week, in the language that is spoken now."""
    week = each.visit.rotation_week
    what = week.get_step_display()
    if week.product is not None:
        names = [content.ingredient.name for content in week.product.contents.all()]
        what = f"{week.product.name} ({', '.join(names)})"
    return capfirst(": ".join(part for part in (what, week.purpose) if part))[:500]


def _sums(weeks: Sequence[EstimateWeek], *, estimate_place: Any) -> dict[str, Any]:
    lines = [
        Taxable(
            week.amount,
            week.day,
            estimate_place.jurisdiction,
            estimate_place.county,
            Kind(week.kind),
        )
        for week in weeks
    ]
    due = taxes_on(lines, tax_rates())
    weeks_total = sum((week.amount for week in weeks), Decimal("0.00"))
    tax_total = sum((tax.amount for tax in due), Decimal("0.00"))
    return {
        "taxes": taxes_told(due),
        "weeks_total": weeks_total,
        "total": weeks_total + tax_total,
    }


@transaction.atomic
def withdraw(estimate: Estimate, *, at: datetime) -> bool:
    """Take an estimate back that has no answer; say whether it stood until now.

    Raise ValidationError where the client has answered.
    """
    estimate = Estimate.objects.select_for_update(of=("self",)).get(pk=estimate.pk)
    if hasattr(estimate, "answer"):
        raise ValidationError(gettext_lazy("The client has answered; it stands."), code="answered")
    standing = Estimate.objects.filter(pk=estimate.pk, withdrawn_at__isnull=True)
    return bool(standing.update(withdrawn_at=at))

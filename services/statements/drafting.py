"""What a client's next statement would say: each visit that was made and never charged, once."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.utils import translation
from django.utils.translation import gettext as _

from clients.lying import state_named
from clients.models import Client, Property
from services.figures import VisitFigures, figures_of, made_between
from services.models import ChargeCorrection, Payment, Statement, TaxRate, Visit
from services.priced import priced_in_words
from services.rules import charging
from services.rules.charging import FallsOn, Kind, Taxable, TaxDue


@dataclass(frozen=True, slots=True)
class DraftLine:
    """A line to be: of a visit, or of a correction."""

    day: date
    words: str
    priced: str
    kind: Kind
    place: Property
    amount: Decimal
    visit: Visit | None = None
    correction: ChargeCorrection | None = None
    rule: int | None = None

    def taxable(self) -> Taxable:
        """Return the line as a tax looks at it."""
        return Taxable(self.amount, self.day, self.place.jurisdiction, self.place.county, self.kind)


@dataclass(frozen=True, slots=True)
class Draft:
    """A statement to be.

    carried: the balance of the statement before; payments: noted since that one
    unpriced: visits of the period that have no price yet, with the reason; earlier: how many visits
        before the period are on no statement
    """

    client: Client
    first_day: date
    last_day: date
    lines: list[DraftLine]
    taxes: list[TaxDue]
    carried: Decimal
    payments: list[Payment]
    unpriced: list[VisitFigures]
    earlier: int

    @property
    def lines_total(self) -> Decimal:
        """The sum of the lines."""
        return sum((line.amount for line in self.lines), Decimal("0.00"))

    @property
    def tax_total(self) -> Decimal:
        """The tax upon them."""
        return sum((tax.amount for tax in self.taxes), Decimal("0.00"))

    @property
    def total(self) -> Decimal:
        """Lines and tax."""
        return self.lines_total + self.tax_total

    def taxes_told(self) -> list[dict[str, str]]:
        """Return the tax as a statement keeps it."""
        with translation.override(self.client.language):
            return taxes_told(self.taxes)

    @property
    def paid(self) -> Decimal:
        """What was paid since the statement before."""
        return sum((each.amount for each in self.payments), Decimal("0.00"))

    @property
    def balance(self) -> Decimal:
        """What is owed with this statement."""
        return self.carried - self.paid + self.total


def taxes_told(taxes: Iterable[TaxDue]) -> list[dict[str, str]]:
    """Return tax as it is kept: texts, so that nothing rounds them later."""
    return [
        {
            "name": tax.rate.name,
            "place": ", ".join(filter(None, [tax.rate.county, state_named(tax.rate.place)])),
            "percent": f"{tax.rate.percent.normalize():f}",
            "base": f"{tax.base:.2f}",
            "amount": f"{tax.amount:.2f}",
        }
        for tax in taxes
    ]


def draft_for(client: Client, first_day: date, last_day: date) -> Draft:
    """Return what a statement of a client for a period would say, in the client's language."""
    uncharged = Visit.objects.filter(statement_line__isnull=True)
    theirs = uncharged.filter(course__property__client=client)
    known = made_between(first_day, last_day).filter(pk__in=theirs.values("pk"))
    figures = figures_of(known.order_by("completed_at", "pk"), first_day, last_day)
    with translation.override(client.language):
        lines = [*_visits(figures), *_corrections(client, last_day)]
    last = Statement.objects.filter(client=client).order_by("-number").first()
    return Draft(
        client=client,
        first_day=first_day,
        last_day=last_day,
        lines=sorted(lines, key=lambda line: line.day),
        taxes=charging.taxes_on((line.taxable() for line in lines), tax_rates()),
        carried=last.balance if last else Decimal("0.00"),
        payments=list(Payment.objects.filter(client=client, statements__isnull=True)),
        unpriced=[each for each in figures if each.charge.amount is None],
        earlier=_earlier(theirs, first_day),
    )


def _earlier(visits, first_day: date) -> int:
    """Return how many visits made before a day are on no statement; by the days of UTC."""
    made = visits.filter(state=Visit.State.COMPLETED)
    return made.filter(completed_at__date__lt=first_day).count()


def _visits(figures: Iterable[VisitFigures]) -> Iterable[DraftLine]:
    for each in figures:
        if each.charge.amount is not None:
            yield DraftLine(
                day=each.day,
                words=words_of(each.visit),
                priced=priced_in_words(each),
                kind=each.charge.kind,
                place=each.visit.course.property,
                amount=each.charge.amount,
                visit=each.visit,
                rule=each.charge.rule.key if each.charge.rule else None,
            )


def words_of(visit: Visit) -> str:
    """Return what a line says of a visit, in the language that is spoken now."""
    plantings = sorted(planting.name for planting in visit.course.plantings.all())
    told = _("%(place)s, %(plantings)s: week %(week)s of %(rotation)s") % {
        "place": visit.course.property.name,
        "plantings": ", ".join(plantings),
        "week": visit.week,
        "rotation": visit.course.rotation.name,
    }
    return told[:500]


def _corrections(client: Client, last_day: date) -> Iterable[DraftLine]:
    waiting = ChargeCorrection.objects.filter(
        client=client, statement_line__isnull=True, day__lte=last_day
    )
    for each in waiting.select_related("property", "visit__statement_line__statement"):
        yield DraftLine(
            day=each.day,
            words=_correction_in_words(each),
            priced="",
            kind=Kind(each.kind),
            place=each.property,
            amount=each.amount,
            correction=each,
        )


def _correction_in_words(correction: ChargeCorrection) -> str:
    line = getattr(correction.visit, "statement_line", None)
    if line is None:
        return _("Correction: %(words)s") % {"words": correction.words}
    told = _("Correction of statement %(number)s: %(words)s")
    return told % {"number": line.statement.number, "words": correction.words}


def tax_rates() -> Sequence[charging.TaxRate]:
    """Return the owner's table of taxes as the rules are given it."""
    return [
        charging.TaxRate(
            key=row.pk,
            name=row.name,
            place=row.jurisdiction,
            percent=row.percent,
            falls_on=FallsOn(row.falls_on),
            from_day=row.from_day,
            county=row.county,
        )
        for row in TaxRate.objects.all()
    ]

"""What the page of a visit shows on the spot: the stop, what stands, what a form begins with."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import ROUND_DOWN, Decimal

from django.utils.translation import get_language
from django.utils.translation import gettext as _

from clients.access import CERTIFIED, has_role, shows_gate_code
from services.asked_of_crews import asked_at
from services.charting import shape_of
from services.forms.spot import Offered
from services.mixing import Mixing, mixing_of
from services.models import Crew, Hold, Outbox, Visit
from services.printing.loading import visits_for_paper
from services.printing.signs import sign_says
from services.printing.stops import stop_of
from services.printing.summaries import next_visit, standing_records
from services.printing.visit_sheets import lots_of
from services.sheets import visit_sheet as sheet
from services.sheets.charts import as_svg, plan_figure
from treatments.mixing import SharedMix
from treatments.models import ApplicationRecord, Applicator, Lot
from treatments.rulebook import posting_at
from treatments.rules.units import Measure
from treatments.storekeeping import stock_of

TENTH, THOUSANDTH = Decimal("0.1"), Decimal("0.001")


@dataclass(frozen=True, slots=True)
class Spot:
    """A visit as it is shown on the spot.

    day: the property's date on which it is or was to be made
    """

    visit: Visit
    day: date
    stop: sheet.Stop
    mixing: Mixing | None
    lots: list[Lot]
    hold: Hold | None
    may_lift: bool

    def zone(self):
        """Return the zone of the property, by which all hours are told."""
        return self.visit.course.property.zone()

    def drawing(self) -> str:
        """Return the plantings as SVG text, narrow enough for a phone."""
        shapes = tuple(shape_of(planting) for planting in self.visit.course.plantings.all())
        return as_svg(plan_figure(shapes, get_language() or "en", width=220, height=110))

    def sign_says(self) -> list[str]:
        """Return what the rule of the place asks to stand on the sign."""
        return sign_of(self.visit)

    def is_done(self) -> bool:
        """Say whether the visit was made."""
        return self.visit.state == Visit.State.COMPLETED

    def sprays(self) -> bool:
        """Say whether something is applied."""
        return self.visit.rotation_week.product is not None


@dataclass(frozen=True, slots=True)
class Kept:
    """What a visit that was made has left in the book."""

    records: list[ApplicationRecord]
    upcoming: Visit | None
    summary_goes: bool


def sign_of(visit: Visit) -> list[str]:
    """Return what stands on the sign of a visit at which something is sprayed, in words."""
    place = visit.course.property
    posting = posting_at(place.jurisdiction, visit.planned, production_site=place.production_site)
    return sign_says(posting) if posting and visit.rotation_week.product else []


def visits_on_the_spot(user, *, to_report=False):
    """Pick the visits a person may see, or may report, with all that the page shows."""
    visits = Visit.objects.all()
    return visits_for_paper(visits.reported_by(user) if to_report else visits.for_user(user))


def spot_of(visit: Visit, user, now: datetime) -> Spot:
    """Return what the page of a visit shows to a person."""
    place = visit.course.property
    today = now.astimezone(place.zone()).date()
    dispatch = visit.dispatch
    day = dispatch.day if dispatch else today
    crew = dispatch.crew if dispatch else None
    sees_code = shows_gate_code(user, place.pk)
    product = visit.rotation_week.product
    taken = lots_of(visit, dispatch) if dispatch and product else []
    stop = stop_of(
        visit, day=day, crew=crew, dispatch=dispatch, lots=taken or None, with_gate_code=sees_code
    )
    return Spot(
        visit=visit,
        day=day,
        stop=stop,
        mixing=mixing_of(visit, crew, day) if product else None,
        lots=lots_offered(visit, day, taken) if product else [],
        hold=visit.open_hold(),
        may_lift=has_role(user, CERTIFIED),
    )


def lots_offered(visit: Visit, day: date, on_truck: Iterable[Lot] = ()) -> list[Lot]:
    """Return the lots of a visit's product: those on the truck first, then the first to expire.

    Expired and empty ones come last; they can be named all the same, if they were used.
    """
    product, loaded = visit.rotation_week.product, {lot.pk for lot in on_truck}
    if product is None:
        return []
    lots = stock_of([product]).get(product.pk, [])
    for lot in lots:
        lot.product = product
    return sorted(
        lots,
        key=lambda lot: (
            lot.expires_on is not None and lot.expires_on < day,
            lot.balance <= 0,
            lot.pk not in loaded,
        ),
    )


def offered_to(spot: Spot, user) -> Offered:
    """Return what the form of a visit begins with for a person."""
    mixing = spot.mixing
    mix = mixing.mix if mixing else None
    crew = spot.visit.dispatch.crew if spot.visit.dispatch else None
    people = _applicators(crew)
    own = getattr(user, "applicator", None)
    return Offered(
        day=spot.day,
        applicators=people,
        applicator=own,
        sprayers=_sprayers(crew, mixing),
        sprayer=mixing.sprayer if mixing else None,
        used=_used(mix) if mix else {},
        lots=spot.lots,
        measures=_measures(mix) if mix else {},
        limits=_limits(spot.stop.limits) if spot.sprays() else {},
        asked=asked_at(spot.visit, spot.day),
        wears=(*spot.stop.protection.items, *spot.stop.protection.respirator[:1]),
    )


def _applicators(crew: Crew | None) -> list[Applicator]:
    """Return who may have applied, the people of the crew first."""
    members = {person.user_id for person in crew.technicians.all()} if crew else set()
    people = Applicator.objects.select_related("supervisor").order_by("name")
    return sorted(people, key=lambda person: person.user_id not in members)


def _sprayers(crew: Crew | None, mixing: Mixing | None) -> list:
    truck = getattr(crew, "truck", None)
    if truck is not None:
        return list(truck.sprayers.all())
    return [mixing.sprayer] if mixing and mixing.sprayer else []


def _used(mix: SharedMix) -> dict[int, tuple[Decimal, Decimal]]:
    """Return what the plan measures, shared among the plantings by their spray."""
    total, measured = mix.spray_gallons(), mix.product.amount
    return {
        planting: (
            (measured * gallons / total).quantize(THOUSANDTH, ROUND_DOWN).normalize(),
            gallons.quantize(TENTH, ROUND_DOWN).normalize() or gallons,
        )
        for planting, gallons in mix.gallons.items()
    }


def _measures(mix: SharedMix) -> dict[int, str]:
    """Return what was planned for each planting in the unit in which it is measured."""
    unit = mix.tanks()[0].product.measured.unit
    return {
        planting: _("planned: %(measure)s")
        % {"measure": Measure(product, mix.product.unit).to(unit)}
        for planting, (product, _gallons) in _used(mix).items()
    }


def _limits(limits: sheet.Limits) -> dict[str, str]:
    return {
        "wind_mph": limits.wind,
        "wind_direction": limits.direction,
        "temperature_f": limits.temperature,
        "humidity_percent": limits.humidity,
        "hours_to_rain": limits.rain,
    }


def kept_of(visit: Visit) -> Kept:
    """Return what a visit that was made has left: records, when the next one is, and the letter."""
    letters = Outbox.objects.filter(kind=Outbox.Kind.CLIENT_SUMMARY, arguments__visit=visit.pk)
    return Kept(standing_records(visit), next_visit(visit), letters.exists())

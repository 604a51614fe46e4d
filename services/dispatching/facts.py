"""A dispatched day as plain facts, for a file that other programs read."""

from django.utils.translation import gettext

from services.dispatching.days import DayPlan, LeftOutVisit
from services.models import Dispatch, LoadLine, Visit
from treatments.naming import in_words


def dispatch_facts(plan: DayPlan) -> dict:
    """Return a day as text, numbers and lists: crews, order, hours, loads and reasons.

    Hours are local with their offset [ISO 8601]; amounts are decimal text in the unit beside them;
    reasons are in the language that is spoken now, their codes in none.
    """
    return {
        "day": plan.day.isoformat(),
        "dispatches": [_dispatch(dispatch) for dispatch in plan.dispatches],
        "left_out": [_left_out(each) for each in plan.left_out],
    }


def _dispatch(dispatch: Dispatch) -> dict:
    zone = dispatch.crew.yard.zone()
    visits = sorted(dispatch.visits.all(), key=lambda visit: visit.position or 0)
    return {
        "id": dispatch.pk,
        "crew": dispatch.crew.name,
        "leaves_yard_at": dispatch.leaves_yard_at.astimezone(zone).isoformat(),
        "returns_at": dispatch.returns_at.astimezone(zone).isoformat(),
        "water_gallons": f"{dispatch.water_gallons:f}",
        "signs": dispatch.signs,
        "legs": dispatch.legs,
        "visits": [_visit(visit) for visit in visits],
        "load": [_line(line) for line in dispatch.load.all()],
    }


def _visit(visit: Visit) -> dict:
    place = visit.course.property
    arrives_at, leaves_at = visit.hours_on_route()
    return {
        "id": visit.pk,
        "position": visit.position,
        "property": place.name,
        "address": place.address(),
        "week": visit.week,
        "arrives_at": arrives_at.astimezone(place.zone()).isoformat(),
        "leaves_at": leaves_at.astimezone(place.zone()).isoformat(),
        "state": visit.state,
    }


def _line(line: LoadLine) -> dict:
    return {
        "product": line.lot.product.name,
        "lot_number": line.lot.lot_number,
        "amount": f"{line.amount:f}",
        "unit": line.lot.product.stock_unit,
    }


def _left_out(left: LeftOutVisit) -> dict:
    return {
        "id": left.visit.pk,
        "property": left.visit.course.property.name,
        "week": left.visit.week,
        "code": left.reason.code,
        "reason": left.reason.say(gettext, in_words),
        "remedy": left.reason.say_remedy(gettext, in_words),
    }

"""The first page of a crew's paper: its day, what goes on the truck, whom to call."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal

from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _

from services.charting import run_of
from services.models import Dispatch, Technician, Visit
from services.printing.signs import sign_name, signs_to_take_down
from services.printing.stops import labels_of, lot_name
from services.sheets import visit_sheet as sheet
from services.sheets.dates import clock, number, short_day
from treatments.models import Applicator
from treatments.rulebook import posting_at
from treatments.rules.protection import protection_needed


def crew_day_of(dispatch: Dispatch) -> sheet.CrewDay:
    """Return a crew's day, in the language that is spoken now."""
    crew = dispatch.crew
    truck = getattr(crew, "truck", None)
    visits = list(dispatch.visits.all())
    labels = [
        facts for visit in visits if visit.rotation_week.product for facts in labels_of(visit)
    ]
    return sheet.CrewDay(
        crew=crew.name,
        day=dispatch.day,
        people=tuple(_people(dispatch, visits)),
        truck=truck.name if truck else "–",
        sprayer=", ".join(each.name for each in truck.sprayers.all()) if truck else "–",
        run=run_of(dispatch),
        load=tuple(_load(dispatch)),
        protection=tuple(_(item.name) for item in protection_needed(labels)) if labels else (),
        signs=tuple(_signs(visits)),
        water=_("%(gallons)s gal") % {"gallons": number(dispatch.water_gallons)},
        notes=tuple(_notes(dispatch, visits)),
        contacts=_contacts(dispatch, visits),
    )


def _notes(dispatch: Dispatch, visits: Iterable[Visit]) -> Iterable[str]:
    """Yield what the crew is to mind of its day: note, rinses, signs, ways reckoned."""
    if dispatch.note:
        yield dispatch.note
    for line in dispatch.load.all():
        if line.aboard:
            yield _(
                "The truck carries %(amount)s of %(product)s, %(lot)s, already: load only the rest."
            ) % {
                "amount": f"{number(line.aboard)} {line.lot.product.stock_unit}",
                "product": line.lot.product.name,
                "lot": lot_name(line.lot),
            }
    stops = {visit.pk: place for place, visit in enumerate(visits, start=1)}
    zone = dispatch.crew.yard.zone()
    for leg in dispatch.legs:
        if leg.get("left"):
            yield _(
                "A stop has left the route: you wait from %(from)s to %(until)s, and the hours of "
                "the others stay."
            ) % {
                end: clock(datetime.fromisoformat(leg[end]).astimezone(zone), get_language())
                for end in ("from", "until")
            }
        if leg.get("after") in stops:
            yield _(
                "After stop %(stop)s rinse the sprayer three times, with %(gallons)s gal in all: "
                "the next to be sprayed takes another mix. Spray the rinse out where you sprayed, "
                "within the rate of the label."
            ) % {"stop": stops[leg["after"]], "gallons": number(Decimal(leg["gallons"]))}
    for stop, sign in signs_to_take_down(list(visits)):
        yield _("At stop %(stop)s take down the sign that was put up on %(day)s.") % {
            "stop": stop,
            "day": short_day(sign.posted_at.astimezone(zone).date(), get_language()),
        }
    if untold := dispatch.travel.get("untold"):
        yield _(
            "The road server told no way for these, so they are reckoned from the straight line: "
            "%(ways)s."
        ) % {"ways": "; ".join(untold)}


def _people(dispatch: Dispatch, visits: Iterable[Visit]) -> Iterable[sheet.Person]:
    places = {visit.course.property.jurisdiction for visit in visits}
    for technician in dispatch.crew.technicians.all():
        if technician.user.is_active:
            yield sheet.Person(str(technician), _certificates(technician, places, dispatch))


def _certificates(technician: Technician, places: set[str], dispatch: Dispatch) -> str:
    applicator = getattr(technician.user, "applicator", None)
    if applicator is None:
        return ""
    own = _numbers(applicator, places, dispatch)
    if own or applicator.supervisor is None:
        return ", ".join(own)
    over = ", ".join(_numbers(applicator.supervisor, places, dispatch))
    return _("under %(supervisor)s, %(numbers)s") % {
        "supervisor": applicator.supervisor.name,
        "numbers": over or "–",
    }


def _numbers(applicator: Applicator, places: set[str], dispatch: Dispatch) -> list[str]:
    return [
        str(each)
        for each in applicator.certificates.all()
        if each.jurisdiction in places and each.expires_on >= dispatch.day
    ]


def _load(dispatch: Dispatch) -> Iterable[sheet.LoadLine]:
    for line in dispatch.load.all():
        product = line.lot.product
        yield sheet.LoadLine(
            product=product.name,
            registration_number=product.epa_registration_number or "–",
            lot=lot_name(line.lot),
            amount=f"{number(line.amount)} {product.stock_unit}",
            expires_on=line.lot.expires_on,
        )


def _signs(visits: Iterable[Visit]) -> Iterable[sheet.SignLine]:
    """Yield the signs to take, one line a kind, with the stops they are for."""
    stops: dict[str, list[int]] = defaultdict(list)
    for place, visit in enumerate(visits, start=1):
        site = visit.course.property
        posting = posting_at(site.jurisdiction, visit.planned, production_site=site.production_site)
        if posting and visit.rotation_week.product:
            stops[sign_name(posting)].append(place)
    for name, places in stops.items():
        listed = ", ".join(map(str, places))
        words = ngettext("stop %(stops)s", "stops %(stops)s", len(places))
        yield sheet.SignLine(name, len(places), words % {"stops": listed})


def _contacts(dispatch: Dispatch, visits: Iterable[Visit]) -> sheet.EmergencyContacts:
    hospitals = (visit.course.property.nearest_hospital for visit in visits)
    people = (getattr(one.user, "applicator", None) for one in dispatch.crew.technicians.all())
    over = {
        (person.supervisor or person).name
        for person in people
        if person and (person.supervisor or person.certificates.all())
    }
    return sheet.EmergencyContacts(
        supervisor=", ".join(sorted(over)),
        supervisor_phone=dispatch.crew.yard.supervisor_phone,
        hospital="; ".join(dict.fromkeys(name for name in hospitals if name)),
    )

"""The place of a stop on paper: where it is, what must be minded, and how to get in."""

from collections.abc import Iterable
from datetime import date, datetime

from django.conf import settings
from django.urls import reverse
from django.utils.formats import date_format
from django.utils.translation import get_language
from django.utils.translation import gettext as _

from clients.models import Planting, Property
from services.courses import is_at_dusk
from services.models import Visit
from services.printing.hours import allowed_hours
from services.sheets import visit_sheet as sheet
from services.sheets.dates import clock
from treatments.rules.records import is_verified, ruleset_of


def place_of(
    visit: Visit, day: date, hours: tuple[datetime | None, datetime | None], *, with_gate_code: bool
) -> sheet.StopPlace:
    """Return where a stop is, in the language that is spoken now."""
    place = visit.course.property
    begins, ends = hours
    return sheet.StopPlace(
        address=place.street,
        town=f"{place.city}, {place.jurisdiction[3:]} {place.postal_code}",
        client=place.client.name,
        phone=place.client.phone,
        begins_at=begins,
        ends_at=ends,
        minded=tuple(minded(visit, day)),
        access=access_in_words(visit, day, with_gate_code=with_gate_code),
        visit_address=address_of(visit),
        unverified_place=unverified_name(place),
    )


def address_of(visit: Visit) -> str:
    """Return the address of the visit's page, which a phone finds by the code on the sheet."""
    return settings.ADDRESS + reverse("services:visit", args=[visit.pk])


def unverified_name(place: Property) -> str:
    """Return the name of a place whose rules nobody has read, or an empty text."""
    if is_verified(place.jurisdiction):
        return ""
    known = ruleset_of(place.jurisdiction)
    return _(known.name) if known else place.jurisdiction


def minded(visit: Visit, day: date) -> Iterable[str]:
    """Yield what must be minded at a stop: the place, what blooms, who was to be told."""
    place = visit.course.property
    around = " ".join(_around(place))
    if around:
        yield around
    if place.production_site:
        yield _("Production site: the Worker Protection Standard applies.")
    for planting in visit.course.plantings.all():
        yield from _of_planting(planting, day)
    if place.neighbours.all():
        names = ", ".join(neighbour.name for neighbour in place.neighbours.all())
        yield _("Neighbors to be told before: %(names)s.") % {"names": names}
    if visit.rotation_week.product and is_at_dusk(visit, day):
        yield _("Still air at dusk carries fine drops far: look at smoke or dust before spraying.")


def _around(place: Property) -> Iterable[str]:
    distances = {
        "open_water": (_("pond or stream"), place.water_distance_ft),
        "well": (_("well"), place.well_distance_ft),
        "kitchen_garden": (_("kitchen garden"), place.garden_distance_ft),
    }
    words = []
    for name, word in (("bees", _("bee hives")), ("children", _("children")), ("pets", _("pets"))):
        words += [word] if getattr(place, name) else []
    for name, (word, feet) in distances.items():
        words += [_so_far(word, feet)] if getattr(place, name) else []
    if words:
        listed = ", ".join(words)
        yield listed[:1].upper() + listed[1:] + "."
    if place.minded_note:
        yield place.minded_note


def _so_far(word: str, feet: int | None) -> str:
    if feet is None:
        return _("%(thing)s (distance not known)") % {"thing": word}
    return _("%(thing)s %(feet)s ft away") % {"thing": word, "feet": feet}


def _of_planting(planting: Planting, day: date) -> Iterable[str]:
    facts = {"planting": planting.name}
    if planting.blooms_on(day):
        yield _("%(planting)s is in bloom: look for bees before spraying.") % facts
    if planting.edible:
        yield _("%(planting)s is eaten from.") % facts
    if planting.drought_stressed:
        yield _("%(planting)s is short of water.") % facts
    if planting.note:
        yield planting.note


def access_in_words(visit: Visit, day: date, *, with_gate_code: bool) -> str:
    """Return the hours of the day, the way in, and the gate code where it may be shown."""
    place = visit.course.property
    parts = [_hours(visit, day), place.access_note]
    if place.gate_code:
        shown = _("Gate code %(code)s.") % {"code": place.gate_code}
        parts.append(shown if with_gate_code else _("The gate code is shown on the day."))
    return " ".join(part for part in parts if part)


def _hours(visit: Visit, day: date) -> str:
    language, zone = get_language() or "en", visit.course.property.zone()
    spans = [
        f"{clock(opens.astimezone(zone), language)} – {clock(closes.astimezone(zone), language)}"
        for opens, closes in allowed_hours(visit, day)
    ]
    if not spans:
        return _("No hour of %(day)s is allowed.") % {"day": date_format(day, "DATE_FORMAT")}
    return _("%(hours)s.") % {"hours": ", ".join(spans)}

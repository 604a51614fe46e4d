"""What a phone is sent: its crew's stops of today and tomorrow, all that is read on the spot.

Amounts, days and moments are texts; what a person reads stands in both languages.
"""

import hashlib
from collections.abc import Callable, Iterable
from dataclasses import asdict
from datetime import date, datetime, timedelta
from typing import Any

from django.conf import settings
from django.contrib.auth.models import User
from django.db import transaction
from django.utils import translation
from django.utils.translation import get_language

from clients.models import Planting
from services.courses import is_at_dusk
from services.field.mixes import told_mix
from services.field.standing import standing_of
from services.mixing import mixing_of
from services.models import Crew, Device, Dispatch, Packet, Visit
from services.printing.crew_days import crew_day_of
from services.printing.loading import dispatches_for_paper
from services.printing.stops import labels_of, stop_of
from services.printing.visit_sheets import lots_of
from services.sheets.cautions import signal_word
from services.sheets.dates import clock, day_and_clock, long_day
from services.showing.spot import sign_of
from treatments.gathering import product_facts, treated_area_of
from treatments.models import Applicator, Product
from treatments.rules.canonical import canonical, plain
from treatments.rules.compatibility import heat_limits
from treatments.rules.facts import ProductFacts
from treatments.rules.protection import protection_needed
from treatments.rules.spraying import (
    DRY_HOURS,
    WIND_ADVISED_MPH,
    WIND_LEAST_MPH,
    WIND_STOP_MPH,
)

SHAPE = 1  # of the packet; a phone that reads another asks for a newer page
KEPT_HOURS = 48  # for which a phone may show it without having heard of us
ONE_DAY = timedelta(days=1)
PACKETS_KEPT = timedelta(days=400)  # as long as logs; this project's choice
LANGUAGES = tuple(code for code, _name in settings.LANGUAGES)

Told = dict[str, Any]


def packet_for(person: User, now: datetime) -> tuple[Told, list[Visit]]:
    """Return what the phone of a person holds, and the visits in it."""
    dispatches = routes_of(person, now)
    visits = [visit for route in dispatches for visit in stops_of(route, now)]
    crew = crew_of(person)
    people = _applicators(crew)
    told = {
        "shape": SHAPE,
        "kept_hours": KEPT_HOURS,
        "air": {
            "wind_least_mph": WIND_LEAST_MPH,
            "wind_advised_mph": WIND_ADVISED_MPH,
            "wind_stop_mph": WIND_STOP_MPH,
            "dry_hours": DRY_HOURS,
        },
        "language": language_of(person),
        "crew": {"id": crew.pk, "name": crew.name} if crew else None,
        "applicators": _people(person, people),
        "days": [_day(route) for route in dispatches],
        "stops": [
            _stop(visit, route, people, now)
            for route in dispatches
            for visit in stops_of(route, now)
        ],
    }
    return _plain(told), visits


def digest_of(packet: Told) -> str:
    """Return the SHA-256 of a packet, the same for the same stops."""
    return hashlib.sha256(canonical(packet)).hexdigest()


@transaction.atomic
def remember(device: Device, packet: Told, visits: Iterable[Visit], now: datetime) -> str:
    """Keep what a phone was sent, for it is what its crew saw; return the digest.

    Packets that no phone can still speak of are removed: records keep what was seen themselves.
    """
    digest = digest_of(packet)
    kept, is_new = Packet.objects.get_or_create(
        device=device,
        digest=digest,
        defaults={"content": canonical(packet).decode(), "first_sent_at": now},
    )
    if is_new:
        kept.visits.set(visits)
        Packet.objects.filter(first_sent_at__lt=now - PACKETS_KEPT).delete()
    return digest


def crew_of(person: User) -> Crew | None:
    """Return the crew of a person, or None."""
    technician = getattr(person, "technician", None)
    return technician.crew if technician else None


def language_of(person: User) -> str | None:
    """Return the language that a person reads, or None where it was never said."""
    technician = getattr(person, "technician", None)
    return technician.language if technician else None


def routes_of(person: User, now: datetime) -> list[Dispatch]:
    """Return the days of a person's crew that hold a stop of today or tomorrow."""
    crew = crew_of(person)
    if crew is None:
        return []
    around = (now.date() - ONE_DAY, now.date() + 2 * ONE_DAY)
    near = Dispatch.objects.filter(crew=crew, day__range=around)
    return [route for route in dispatches_for_paper(near) if stops_of(route, now)]


def stops_of(route: Dispatch, now: datetime) -> list[Visit]:
    """Return the visits of a crew's day that is today or tomorrow where they are."""
    return [
        visit
        for visit in route.visits.all()
        if _today(visit, now) <= route.day <= _today(visit, now) + ONE_DAY
    ]


def _today(visit: Visit, now: datetime) -> date:
    return now.astimezone(visit.course.property.zone()).date()


def _applicators(crew: Crew | None) -> list[Applicator]:
    """Return who may have applied: the crew, and who answers for them, by name."""
    if crew is None:
        return []
    members = Applicator.objects.filter(user__technician__crew=crew)
    read = members.select_related("supervisor", "user")
    read = read.prefetch_related("certificates", "supervisor__certificates")
    people = {each.pk: each for each in read}
    for each in list(people.values()):
        if each.supervisor is not None:
            people.setdefault(each.supervisor.pk, each.supervisor)
    return sorted(people.values(), key=lambda one: (one.name, one.pk))


def _people(person: User, people: list[Applicator]) -> list[Told]:
    return [
        {
            "id": each.pk,
            "name": each.name,
            "supervisor": each.supervisor_id,
            "is_me": each.user_id == person.pk,
            "certificates": [
                {
                    "number": held.number,
                    "jurisdiction": held.jurisdiction,
                    "expires_on": held.expires_on,
                }
                for held in each.certificates.all()
            ],
        }
        for each in people
    ]


def _day(route: Dispatch) -> Told:
    """Return a crew's day: its hours, what is on the truck, whom to call."""
    return {
        "dispatch": route.pk,
        "day": route.day,
        "leaves_yard_at": route.leaves_yard_at,
        "returns_at": route.returns_at,
        "water_gallons": route.water_gallons,
        "note": route.note,
        "load": [_loaded(line) for line in route.load.all()],
        "sprayers": [_sprayer(each, route) for each in _sprayers(route.crew)],
        "texts": {language: _day_in(language, route) for language in LANGUAGES},
    }


def _day_in(language: str, route: Dispatch) -> Told:
    with translation.override(language):
        read = crew_day_of(route)
        return {
            "day": long_day(route.day, language),
            "protection": read.protection,
            "signs": [asdict(line) for line in read.signs],
            "notes": read.notes,
            "contacts": asdict(read.contacts),
        }


def _loaded(line) -> Told:
    lot = line.lot
    return {
        "lot": lot.pk,
        "number": lot.lot_number,
        "not_marked_reason": lot.not_marked_reason,
        "expires_on": lot.expires_on,
        "product": lot.product_id,
        "product_name": lot.product.name,
        "unit": lot.product.stock_unit,
        "amount": line.amount,
    }


def _sprayers(crew: Crew) -> list:
    truck = getattr(crew, "truck", None)
    return list(truck.sprayers.all()) if truck else []


def _sprayer(sprayer, route: Dispatch) -> Told:
    return {
        "id": sprayer.pk,
        "name": sprayer.name,
        "kind": sprayer.kind,
        "tank_gallons": sprayer.tank_gallons,
        "has_agitation": sprayer.has_agitation,
        "reach_ft": sprayer.reach_ft,
        "calibrations": [
            {
                "id": each.pk,
                "applicator": each.person_id,
                "nozzle": each.nozzle,
                "pressure_psi": each.pressure_psi,
                "gallons_per_1000_sq_ft": each.gallons_per_1000_sq_ft,
                "calibrated_on": each.calibrated_on,
                "expires_on": each.expires_on,
            }
            for each in sprayer.calibrations.all()
            if each.calibrated_on <= route.day <= each.expires_on
        ],
    }


def _stop(visit: Visit, route: Dispatch, people: list[Applicator], now: datetime) -> Told:
    place, week = visit.course.property, visit.rotation_week
    product = week.product
    mixing = mixing_of(visit, route.crew, route.day) if product else None
    return {
        "visit": visit.pk,
        "version": visit.version,
        "dispatch": route.pk,
        "dispatched_at": route.made_at,
        "day": route.day,
        "position": visit.position,
        "zone": place.time_zone,
        "state": visit.state,
        "arrives_at": visit.arrives_at,
        "leaves_at": visit.leaves_at,
        "earliest": visit.earliest,
        "latest": visit.latest,
        "week": visit.week,
        "weeks": len(visit.course.rotation.weeks.all()),
        "step": week.step,
        "latitude": place.latitude,
        "longitude": place.longitude,
        "at_dusk": bool(product) and is_at_dusk(visit, route.day),
        "plantings": [_planting(each, route.day) for each in visit.course.plantings.all()],
        "products": [_sprayed(each) for each in (product, week.adjuvant) if each],
        "labels": _labels(labels_of(visit)) if product else None,
        "mix": told_mix(mixing) if mixing else None,
        "people": [standing_of(each, visit, route, mixing.sprayer) for each in people]
        if mixing
        else [],
        "texts": {language: _stop_in(language, visit, route, now) for language in LANGUAGES},
    }


def _planting(planting: Planting, day: date) -> Told:
    return {
        "id": planting.pk,
        "name": planting.name,
        "common_name": planting.common_name,
        "species": planting.species,
        "area_sq_ft": treated_area_of(planting),
        "plants": planting.plants,
        "height_ft": planting.height_ft,
        "in_bloom": planting.blooms_on(day),
    }


def _sprayed(product: Product) -> Told:
    """Return a label with what heat and damp do to leaves under it, family by family."""
    facts = product_facts(product)
    families = {"families": sorted(facts.separation_classes()), "heat": heat_limits(facts)}
    return told_product(product) | _plain(families)


def told_product(product: Product) -> Told:
    """Return the label of a product as the crew sees it; a record keeps these words."""
    told = {
        "id": product.pk,
        "version": product.version,
        "name": product.name,
        "registration_number": product.epa_registration_number,
        "label_version": product.label_version,
        "signal_word": product.signal_word,
        "restricted_use": product.restricted_use,
        "stock_unit": product.stock_unit,
        "first_aid": product.first_aid,
        "rates": [
            {
                "plant_group": rate.plant_group,
                "minimum": rate.minimum,
                "maximum": rate.maximum,
                "basis": rate.basis,
            }
            for rate in product.rates.all()
        ],
        "wind_maximum_mph": product.wind_maximum_mph,
        "temperature_maximum_f": product.temperature_maximum_f,
        "temperature_minimum_f": product.temperature_minimum_f,
        "rainfast_hours": product.rainfast_hours,
        "reentry_hours": product.reentry_hours,
        "reentry_until_dry": product.reentry_until_dry,
    }
    return _plain(told)


def _labels(facts: list[ProductFacts]) -> Told:
    """Return the strictest of all labels of a stop; None where each is silent."""
    return {
        "wind_maximum_mph": _least(each.wind_maximum_mph for each in facts),
        "temperature_maximum_f": _least(each.temperature_maximum_f for each in facts),
        "temperature_minimum_f": _most(each.temperature_minimum_f for each in facts),
        "rainfast_hours": _most(each.rainfast_hours for each in facts),
        "reentry_hours": _most(each.reentry_hours for each in facts),
        "reentry_until_dry": any(each.reentry_until_dry for each in facts),
        "protection": [item.code for item in protection_needed(facts)],
    }


def _least(limits):
    return min((each for each in limits if each is not None), default=None)


def _most(limits):
    return max((each for each in limits if each is not None), default=None)


def _stop_in(language: str, visit: Visit, route: Dispatch, now: datetime) -> Told:
    """Return a stop in the words of its visit sheet; the gate's code on the day alone."""
    with translation.override(language):
        stop = stop_of(
            visit,
            day=route.day,
            crew=route.crew,
            dispatch=route,
            lots=lots_of(visit, route) or None,
            with_gate_code=route.day == _today(visit, now),
        )
        told = asdict(stop)
        del told["target"]["plantings"]
        if stop.product is not None:
            told["product"]["signal_word"] = signal_word(stop.product.signal_word, language)
        told["leaving"]["sign_down"] = _said(day_and_clock, stop.leaving.remove_sign_at, visit)
        return told | {
            "arrives": _said(clock, visit.arrives_at, visit),
            "sign": sign_of(visit),
            "step": visit.rotation_week.get_step_display(),
        }


def _said(words: Callable[[datetime, str], str], moment: datetime | None, visit: Visit) -> str:
    """Return a moment where the visit is, in the language that is spoken now."""
    if moment is None:
        return ""
    return words(moment.astimezone(visit.course.property.zone()), str(get_language()))


def _plain(told: Told) -> Told:
    """Return a packet in texts, whole numbers and truths alone."""
    return {name: plain(value) for name, value in told.items()}

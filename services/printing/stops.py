"""A stop as the crew reads it, on paper and on the phone alike."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import date, datetime
from decimal import Decimal

from django.utils.text import capfirst
from django.utils.translation import get_language, ngettext
from django.utils.translation import gettext as _

from services.asked_of_crews import METHOD, asked_at, typed_at
from services.charting import shape_of
from services.mixing import Mixing, area_of, mixing_of, sprayers_of
from services.models import Crew, Dispatch, Visit
from services.printing.filling import printed_mix
from services.printing.hours import work_hours
from services.printing.places import place_of
from services.printing.signs import posting_in_words
from services.sheets import visit_sheet as sheet
from services.sheets.dates import day_and_clock, number
from treatments.gathering import groups_of, product_facts
from treatments.models import Lot, Product
from treatments.naming import in_words
from treatments.rulebook import posting_at
from treatments.rules.facts import ProductFacts
from treatments.rules.findings import Severity
from treatments.rules.labels import check_reentry, reentry_after
from treatments.rules.protection import protection_needed
from treatments.rules.records import sign_stays_until
from treatments.rules.respirators import describe_respirator, respirator_needed
from treatments.rules.spraying import WIND_STOP_MPH
from treatments.storekeeping import first_expiry_first


def stop_of(
    visit: Visit,
    *,
    day: date,
    crew: Crew | None = None,
    dispatch: Dispatch | None = None,
    lots: Iterable[Lot] | None = None,
    with_gate_code: bool = True,
) -> sheet.Stop:
    """Return a visit as a stop of a day, in the language that is spoken now.

    lots: those it is taken from; the first to expire in the store when none are named
    """
    hours = work_hours(visit, dispatch.legs if dispatch else ())
    place = place_of(visit, day, hours, with_gate_code=with_gate_code)
    product = visit.rotation_week.product
    if product is None:
        return _without_spray(visit, place)
    mixing = mixing_of(visit, crew, day)
    facts = labels_of(visit)
    taken = list(lots) if lots is not None else first_expiry_first(product, day)[:1]
    return sheet.Stop(
        place=place,
        target=target_of(visit),
        product=product_of(product, taken),
        mix=printed_mix(visit, mixing),
        protection=protection_of(facts),
        limits=limits_of(visit, facts),
        leaving=leaving_of(visit, facts, hours[1]),
        findings=tuple(_said(mixing)),
        asked=asked_of(visit, crew, day),
    )


def _without_spray(visit: Visit, place: sheet.StopPlace) -> sheet.Stop:
    return sheet.Stop(place=place, target=target_of(visit))


def asked_of(visit: Visit, crew: Crew | None, day: date) -> tuple[sheet.Asked, ...]:
    """Return what only the rules of the place want written; a sprayer is named, not described."""
    is_named = bool(sprayers_of(crew))
    return tuple(
        sheet.Asked(each.name, capfirst(each.label), each.asked_by, each.longest)
        for each in typed_at(asked_at(visit, day))
        if not (is_named and each.name == METHOD)
    )


def labels_of(visit: Visit) -> list[ProductFacts]:
    """Return the labels that bind at a stop: of the product and of what is mixed in with it."""
    week = visit.rotation_week
    return [product_facts(each) for each in (week.product, week.adjuvant) if each is not None]


def target_of(visit: Visit) -> sheet.StopTarget:
    """Return what is treated, and against what."""
    course, week = visit.course, visit.rotation_week
    return sheet.StopTarget(
        week=week.week,
        weeks=len(course.rotation.weeks.all()),
        plantings=tuple(shape_of(planting) for planting in course.plantings.all()),
        area=_("%(area)s sq ft") % {"area": number(area_of(visit))},
        pest=course.rotation.pest.name_in(get_language()),
        purpose=_purpose(visit),
    )


def _purpose(visit: Visit) -> str:
    week = visit.rotation_week
    if week.product is not None:
        return week.purpose
    step = week.get_step_display()
    return f"{step[:1].upper()}{step[1:]}. {week.purpose}".strip()


def product_of(product: Product, lots: list[Lot]) -> sheet.StopProduct:
    """Return the product as its label names it, and the lots it is taken from."""
    expiries = [lot.expires_on for lot in lots if lot.expires_on]
    groups = groups_of(product)
    return sheet.StopProduct(
        name=product.name,
        registration_number=product.epa_registration_number or _("exempt"),
        active_ingredient=", ".join(str(content) for content in product.contents.all()),
        mode_of_action=_("group %(groups)s") % {"groups": groups} if groups else "",
        signal_word=product.signal_word,
        lot=", ".join(lot.lot_number or lot.not_marked_reason for lot in lots)
        or _("none in store"),
        expires_on=min(expiries, default=None),
        restricted_use=product.restricted_use,
    )


def lot_name(lot: Lot) -> str:
    """Return the number on a lot's container, or why it bears none."""
    return lot.lot_number or lot.not_marked_reason


def protection_of(facts: list[ProductFacts]) -> sheet.Protection:
    """Return what is worn for all products of the stop, and the parts of the respirator."""
    return sheet.Protection(
        items=tuple(_(item.name) for item in protection_needed(facts) if item.place != "breath"),
        respirator=tuple(
            sentence
            for finding in describe_respirator(respirator_needed(facts))
            for sentence in (finding.say(_), finding.say_remedy(_))
        ),
    )


def limits_of(visit: Visit, facts: list[ProductFacts]) -> sheet.Limits:
    """Return the strictest limits of the labels in words; where silent, common practice."""
    rain = [each.rainfast_hours for each in facts if each.rainfast_hours is not None]
    damp = any(each.separation_classes() for each in facts)
    return sheet.Limits(
        wind=_wind(facts),
        direction=_away_from(visit),
        temperature=_temperature(facts),
        humidity=_("slow to dry above 90") if damp else _("Delta T 2 to 8 °C"),
        rain=_("%(hours)s dry hours after") % {"hours": number(max(rain))} if rain else "",
    )


def _wind(facts: list[ProductFacts]) -> str:
    told = [each.wind_maximum_mph for each in facts if each.wind_maximum_mph is not None]
    if told:
        return _("label: at most %(mph)s mph") % {"mph": number(min(told))}
    return _("label silent: stop at %(mph)s mph") % {"mph": number(WIND_STOP_MPH)}


def _away_from(visit: Visit) -> str:
    place = visit.course.property
    sensitive = [
        (place.open_water, _("water")),
        (place.bees, _("hives")),
        (place.kitchen_garden, _("garden")),
        (bool(place.neighbours.all()), _("neighbors")),
    ]
    words = ", ".join(word for is_there, word in sensitive if is_there)
    return _("away from: %(what)s") % {"what": words} if words else ""


def _temperature(facts: list[ProductFacts]) -> str:
    highest = _strictest(min, [each.temperature_maximum_f for each in facts])
    lowest = _strictest(max, [each.temperature_minimum_f for each in facts])
    if highest is not None and lowest is not None:
        words = _("label: %(lowest)s to %(highest)s °F")
    elif highest is not None:
        words = _("label: at most %(highest)s °F")
    elif lowest is not None:
        words = _("label: at least %(lowest)s °F")
    else:
        return ""
    return words % {
        "lowest": "" if lowest is None else number(lowest),
        "highest": "" if highest is None else number(highest),
    }


def _strictest(pick, limits: list[Decimal | None]) -> Decimal | None:
    return pick((limit for limit in limits if limit is not None), default=None)


def leaving_of(visit: Visit, facts: list[ProductFacts], ends_at: datetime | None) -> sheet.Leaving:
    """Return what holds after the crew has left; without an end only what the label says."""
    place = visit.course.property
    posting = posting_at(place.jurisdiction, visit.planned, production_site=place.production_site)
    removal = None
    if ends_at is not None and posting is not None:
        done = ends_at.astimezone(place.zone())
        removal = sign_stays_until(posting, done, reentry_after(facts, done).until)
    return sheet.Leaving(
        reentry=reentry_in_words(visit, facts, ends_at),
        posting=posting_in_words(place.jurisdiction, posting),
        remove_sign_at=removal,
    )


def reentry_in_words(visit: Visit, facts: list[ProductFacts], ends_at: datetime | None) -> str:
    """Return until when people and pets keep out, counted from the end of the work."""
    pesticides = [each for each in facts if each.ingredients] or facts
    if ends_at is None:
        return _without_an_end(pesticides)
    done = ends_at.astimezone(visit.course.property.zone())
    until = reentry_after(pesticides, done).until
    shown = day_and_clock(until, get_language() or "en") if until else None
    findings = check_reentry(pesticides, done)
    return " ".join(
        replace(each, facts=_as_read(each.facts, shown)).say(_)
        for each in findings
        if each.code != "reentry-unnamed" or not until
    )


def _as_read(facts: Mapping[str, object], until: str | None) -> dict[str, object]:
    hours = facts.get("hours")
    read = {"until": until, "hours": number(hours) if isinstance(hours, Decimal) else hours}
    return {**facts, **read}


def _without_an_end(facts: list[ProductFacts]) -> str:
    hours = [each.reentry_hours for each in facts if each.reentry_hours is not None]
    dry = any(each.reentry_until_dry for each in facts)
    many = 1 if hours and max(hours) == 1 else 2
    if hours and dry:
        words = ngettext(
            "Keep people and pets out for %(hours)s hour, and until the spray has dried.",
            "Keep people and pets out for %(hours)s hours, and until the spray has dried.",
            many,
        )
    elif hours:
        words = ngettext(
            "Keep people and pets out for %(hours)s hour.",
            "Keep people and pets out for %(hours)s hours.",
            many,
        )
    elif dry:
        words = _("Keep people and pets out until the spray has dried.")
    else:
        words = _("The label copy names no re-entry time: read the label before anyone is let in.")
    return words % {"hours": number(max(hours)) if hours else ""}


def _said(mixing: Mixing) -> Iterable[str]:
    """Yield what is to be said of the mix; notes of how closely it can be measured are left out."""
    if mixing.mix is None:
        yield mixing.why_not()
        return
    for finding in mixing.mix.findings():
        if finding.severity is not Severity.NOTE:
            yield f"{finding.say(_, in_words)} {finding.say_remedy(_, in_words)}".strip()

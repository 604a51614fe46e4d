"""Copies into a record what client, property, product and certificates say on the day."""

from datetime import date, datetime
from typing import Any

from django.utils import translation

from clients.models import Planting
from treatments.gathering import groups_shown, product_facts, treated_area_of
from treatments.models import (
    ApplicationRecord,
    Applicator,
    Business,
    Certificate,
    Lot,
    Pest,
    Product,
    Sprayer,
)
from treatments.rulebook import posting_at
from treatments.rules.facts import Conditions, ProductFacts
from treatments.rules.labels import reentry_after
from treatments.rules.records import sign_stays_until
from treatments.rules.registration import FORMULATIONS

Columns = dict[str, Any]


def fitting(columns: Columns) -> Columns:
    """Return copied texts cut to the width of their columns; a fact is kept, even cut."""
    return {name: _cut(name, value) for name, value in columns.items()}


def _cut(name: str, value: Any) -> Any:
    width = getattr(ApplicationRecord._meta.get_field(name), "max_length", None)
    return value[:width] if isinstance(value, str) and width else value


def place_columns(planting: Planting) -> Columns:
    """Return who the work was done for, where, and on what."""
    place = planting.property
    customer = place.client
    address = customer.postal_address().removeprefix(customer.name).strip()
    plant = f"{planting.common_name} ({planting.species})"
    return {
        "time_zone": place.time_zone,
        "jurisdiction": place.jurisdiction,
        "production_site": place.production_site,
        "customer_name": customer.name,
        "customer_address": ", ".join(address.splitlines()),
        "customer_phone": customer.phone,
        "site_address": place.address(),
        "county": place.county,
        "site_description": f"{planting.name}: {plant}",
        "treated_area_sq_ft": treated_area_of(planting),
        "plants": planting.plants,
    }


def product_columns(product: Product) -> Columns:
    """Return what the label says that the record repeats."""
    facts = product_facts(product)
    contents = [str(content) for content in product.contents.all()]
    code = product.formulation_code
    return {
        "product_name": product.name,
        "epa_registration_number": product.epa_registration_number,
        "active_ingredients": ", ".join(contents),
        "mode_of_action_groups": groups_shown(facts.ingredients),
        "formulation": f"{code} {FORMULATIONS.get(code, '')}".strip(),
        "signal_word": product.signal_word,
        "restricted_use": product.restricted_use,
        "label_version": product.label_version,
        "first_aid": product.first_aid,
        "product_unit": product.stock_unit,
    }


def lot_columns(lot: Lot | None) -> Columns:
    """Return the number of the lot, or why the container bears none."""
    return {"lot_number": lot.lot_number or lot.not_marked_reason if lot else ""}


def pest_columns(pest: Pest) -> Columns:
    """Return what the application was against."""
    return {"target_pest": f"{pest.common_name} ({pest.scientific_name})"}


def people_columns(
    applicator: Applicator, supervisor: Applicator | None, product: Product, place: str, day: date
) -> Columns:
    """Return who applied, and under whose certificate of the place on the day."""
    own = certificate_for(applicator, product, place, day)
    columns = {
        "applicator_name": applicator.name,
        "applicator_licence_number": own.number if own else "",
        "uncertified_applicator_name": "" if own else applicator.name,
        "training_proof": "" if own else _training(applicator),
    }
    over = supervisor or (None if own else applicator.supervisor)
    theirs = over and certificate_for(over, product, place, day)
    columns["supervisor_name"] = over.name if over else ""
    columns["supervisor_licence_number"] = theirs.number if theirs else ""
    return columns


def certificate_for(
    holder: Applicator, product: Product, jurisdiction: str, day: date
) -> Certificate | None:
    """Return the certificate of a place that a person holds on a day, one that covers first."""
    held = holder.certificates.filter(jurisdiction=jurisdiction).valid_on(day)
    category = product.certificate_category.casefold()
    covering = [each for each in held if category in {name.casefold() for name in each.categories}]
    return next(iter(covering or held), None)


def _training(applicator: Applicator) -> str:
    """Return the proof of training: kind, day, trainer, and until when it holds."""
    if applicator.trained_on is None:
        return ""
    kind = f"{applicator.training}, trained" if applicator.training else "Trained"
    trainer = f" by {applicator.trainer}" if applicator.trainer else ""
    ends = applicator.training_expires_on
    until = f", holds until {ends.isoformat()}" if ends else ""
    return f"{kind} on {applicator.trained_on.isoformat()}{trainer}{until}."


def business_columns() -> Columns:
    """Return the business under whose licence the work was done."""
    business = Business.of_this_book()
    return {
        "business_name": business.name,
        "business_address": business.address(),
        "business_licence_number": business.licence_number,
    }


def clearance_columns(
    product: Product, planting: Planting, done_at: datetime, *, is_posted: bool
) -> Columns:
    """Return until when people keep out, and until when the sign stays.

    The hours are elapsed hours from the completion.
    """
    facts = product_facts(product)
    place = planting.property
    done = done_at.astimezone(place.zone())
    reentry = reentry_after([facts], done)
    sign = posting_at(place.jurisdiction, done.date(), production_site=place.production_site)
    stays = sign_stays_until(sign, done, reentry.until) if sign or is_posted else None
    return {
        "reentry_at": reentry.until,
        "reentry_words": reentry_words(facts),
        "removal_at": stays,
    }


def reentry_words(product: ProductFacts) -> str:
    """Return what the label says of re-entry, as the record repeats it."""
    if product.reentry_hours is None:
        return "when dry" if product.reentry_until_dry else ""
    hours = f"{product.reentry_hours.normalize():f} hours"
    return f"{hours}, and not until dry" if product.reentry_until_dry else hours


def air_columns(conditions: Conditions | None) -> Columns:
    """Return what was measured of the air; nothing means that it was not measured."""
    if conditions is None:
        return {}
    return {
        "wind_mph": conditions.wind_mph,
        "wind_direction": conditions.wind_direction,
        "temperature_f": conditions.temperature_f,
        "humidity_percent": conditions.humidity_percent,
    }


def sprayer_columns(sprayer: Sprayer | None) -> Columns:
    """Return the equipment in English, as records are written, where no other is stated."""
    if sprayer is None:
        return {}
    with translation.override("en"):
        return {"method": f"{sprayer.name} ({sprayer.get_kind_display()})"}

"""What the office must look at in a record that was kept all the same."""

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime, timedelta
from decimal import ROUND_DOWN, Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Q

from treatments.checking import earlier_on, history_of_plantings, planned_application
from treatments.gathering import (
    amount_on_ground,
    certificate_facts,
    earlier_application,
    past_application,
    planting_facts,
    product_facts,
    sprayer_as_certified,
    with_labels,
)
from treatments.models import ApplicationRecord, Certificate, Product, Sprayer
from treatments.recording.clocks import check_clocks, done_there
from treatments.rules.certificates import check_certificates, check_supervision
from treatments.rules.daylight import Place, dusk_window, sunrise
from treatments.rules.facts import Conditions, LearnerFacts, PlannedApplication, ProductFacts
from treatments.rules.findings import Finding, Severity, gettext_noop, number_of, plainly
from treatments.rules.rotation_checks import check_rotation
from treatments.rules.spraying import spray_verdict
from treatments.rules.units import Basis, Measure, Unit, UnitMismatch, as_decimal, exact

COUNT_NEEDED = gettext_noop(
    "%(lot)s holds %(left)s %(unit)s by the ledger after this application: count it."
)
LOT_EXPIRED = gettext_noop("Lot %(lot)s had expired on %(expires)s.")
LOT_UNKNOWN = gettext_noop("No lot is named, so that the store was not drawn on.")
HUNDREDTH = Decimal("0.01")
CLOCK_AHEAD = timedelta(days=31)  # by which a phone may have dated a record; our own choice

Flag = dict[str, Any]


def flag_of(finding: Finding) -> Flag:
    """Return a finding as it is kept on a record: a sentence to be translated, and its facts."""
    facts = {name: _plain(fact) for name, fact in finding.facts.items()}
    sentence = number_of(finding.sentence, finding.facts)
    return {"code": finding.code, "sentence": str(sentence), "facts": facts}


def _plain(fact: object) -> object:
    if fact is None or isinstance(fact, (int, str)):
        return str(fact) if isinstance(fact, str) else fact
    return str(plainly(fact) if isinstance(fact, Decimal) else fact)


def flags_on(record: ApplicationRecord, left: Decimal | None, received_at: datetime) -> list[Flag]:
    """Return the flags of a record that is about to be kept.

    left: what the lot holds after it, in the unit of the product; None without a lot
    """
    findings = [
        *check_clocks(record, received_at),
        *_grave(check_label(record, received_at)),
        *_grave(check_air(record)),
        *_serious(check_people(record)),
        *check_lot(record, left),
    ]
    return [flag_of(finding) for finding in findings]


def _grave(findings: Iterable[Finding]) -> list[Finding]:
    return [finding for finding in findings if finding.severity is Severity.REFUSAL]


def _serious(findings: Iterable[Finding]) -> list[Finding]:
    return [finding for finding in findings if finding.severity is not Severity.NOTE]


def check_label(record: ApplicationRecord, now: datetime) -> list[Finding]:
    """Return what the label says of what was applied, with all that is known of the planting."""
    # Paper may come in late: what was done since counts as well as what was done before.
    until = max(done_there(record), now.astimezone(ZoneInfo(record.time_zone))).date()
    before = until + timedelta(days=1)
    past = history_of_plantings([record.planting], before, CLOCK_AHEAD)
    others = [each for each in past.get(record.planting_id, []) if each.pk != record.amends_id]
    earlier = earlier_on([record.planting], before)
    wanted = {each.product_id for each in others} | {record.product_id}
    wanted |= {each.product_id for each in earlier if each.product_id is not None}
    products = {each.pk: each for each in with_labels(Product.objects.filter(pk__in=wanted))}
    facts: dict[int | None, ProductFacts] = {
        pk: product_facts(product) for pk, product in products.items()
    }
    history = [past_application(each, facts[each.product_id]) for each in others]
    history += [earlier_application(each, facts[each.product_id]) for each in earlier]
    applied = _as_applied(record, products[record.product_id], facts[record.product_id])
    return check_rotation([applied], planting=planting_facts(record.planting), history=history)


def _as_applied(
    record: ApplicationRecord, product: Product, facts: ProductFacts
) -> PlannedApplication:
    basis = Basis(record.rate_basis)
    application = planned_application(
        product=product,
        facts=facts,
        pest=record.pest,
        plant_group=record.planting.plant_group,
        rate=max(record.rate, real_rate(record) or record.rate),
        basis=basis,
        day=done_there(record).date(),
    )
    used = Measure(record.product_amount, Unit(record.product_unit))
    on_ground = amount_on_ground(used, record.treated_area_sq_ft, Basis(facts.amount_basis))
    return replace(application, amount_per_1000_sq_ft=on_ground, at_dusk=was_at_dusk(record))


def real_rate(record: ApplicationRecord) -> Decimal | None:
    """Return the rate that the amounts come to on the stated basis, or None when unknown.

    Rounded down at two decimals, so that rounding is never taken for an excess.
    """
    basis = Basis(record.rate_basis)
    used = Measure(record.product_amount, Unit(record.product_unit))
    try:
        product = exact(used.to(basis.amount_unit).amount)
    except UnitMismatch:
        return None
    over = Measure(record.mix_gallons, Unit.GALLON)
    if not basis.is_concentration:
        if not record.treated_area_sq_ft:
            return None
        over = Measure(record.treated_area_sq_ft, Unit.SQUARE_FOOT)
    batches = exact(over.to(basis.per.unit).amount) / exact(basis.per.amount)
    return as_decimal(product / batches).quantize(HUNDREDTH, rounding=ROUND_DOWN)


def was_at_dusk(record: ApplicationRecord) -> bool:
    """Say whether no bee flew: after dusk began, or before the sun rose."""
    site = record.planting.property
    if not site.is_located():
        return False
    place = Place(*site.lies_at(), record.time_zone)
    day = done_there(record).date()
    opens, rises = dusk_window(place, day).opens, sunrise(place, day)
    by_evening = opens is not None and record.started_at >= opens
    return by_evening or (rises is not None and record.done_at <= rises)


def check_air(record: ApplicationRecord) -> list[Finding]:
    """Return what stood against spraying in the air that was measured."""
    air = Conditions(
        at=record.started_at,
        wind_mph=record.wind_mph,
        wind_direction=record.wind_direction,
        temperature_f=record.temperature_f,
        humidity_percent=record.humidity_percent,
    )
    return spray_verdict(air, [product_facts(record.product)])


def check_people(record: ApplicationRecord, sprayer: Sprayer | None = None) -> list[Finding]:
    """Return why nobody named in a record might apply the product there on that day.

    sprayer: what was sprayed with, where it is known
    """
    held = Certificate.objects.filter(Q(applicator=record.applicator) | _held_over(record))
    certificates = [certificate_facts(each) for each in held.select_related("applicator")]
    found = check_certificates(
        certificates,
        product_facts(record.product),
        jurisdiction=record.jurisdiction,
        day=done_there(record).date(),
        plant_group=record.planting.plant_group,
        sprayer=sprayer_as_certified(sprayer) if sprayer else None,
    )
    return [*found, *check_learner(record)]


def _held_over(record: ApplicationRecord) -> Q:
    """Pick what the supervisor holds: by the number copied, else by name, whatever is wrong."""
    number = record.supervisor_licence_number
    if number:
        return Q(number=number, jurisdiction=record.jurisdiction)
    return Q(applicator__name=record.supervisor_name) & ~Q(applicator__name="")


def flags_of_sprayer(record: ApplicationRecord, sprayer: Sprayer | None) -> list[Flag]:
    """Return that a limited certificate does not allow what was sprayed with."""
    found = check_people(record, sprayer) if sprayer else []
    return [flag_of(each) for each in found if each.code == "limited-sprayer"]


def check_learner(record: ApplicationRecord) -> list[Finding]:
    """Return what is wrong where who applied holds no certificate of the place that day."""
    applicator, day = record.applicator, done_there(record).date()
    theirs = Certificate.objects.filter(jurisdiction=record.jurisdiction).valid_on(day)
    if theirs.filter(applicator=applicator).exists():
        return []
    number = record.supervisor_licence_number
    learner = LearnerFacts(
        name=record.applicator_name,
        supervisor=record.supervisor_name,
        supervisor_is_certified=bool(number) and theirs.filter(number=number).exists(),
        trained_on=applicator.trained_on,
        trained_until=applicator.trained_until(),
    )
    return check_supervision(
        learner, jurisdiction=record.jurisdiction, day=day, restricted_use=record.restricted_use
    )


def check_lot(record: ApplicationRecord, left: Decimal | None) -> list[Finding]:
    """Return what is wrong with the lot: none named, expired, or more drawn than it held."""
    lot = record.lot
    if lot is None or left is None:
        return [_stock("lot-unknown", LOT_UNKNOWN)]
    findings = []
    if left < 0:
        unit = record.product_unit
        findings.append(_stock("count-needed", COUNT_NEEDED, lot=str(lot), left=left, unit=unit))
    if lot.expires_on and lot.expires_on < done_there(record).date():
        findings.append(
            _stock("lot-expired", LOT_EXPIRED, lot=lot.lot_number, expires=lot.expires_on)
        )
    return findings


def _stock(code: str, sentence: str, **facts: object) -> Finding:
    return Finding(code, Severity.WARNING, sentence, "", facts, "common practice")

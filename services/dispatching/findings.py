"""What is said of a visit that something stands in the way of, each with what removes it."""

from dataclasses import replace
from datetime import date, timedelta

from django.utils import translation

from clients.models import Planting
from services.models import Crew, Hold, Visit
from treatments.models import Product
from treatments.rules.findings import Counted, Finding, Marked, Refused, Severity, gettext_noop
from treatments.rules.labels.intervals import TOO_SOON, WAIT

STORE = gettext_noop("The store")
LATE = Counted(
    gettext_noop("The latest day was %(latest)s, %(days)s days ago."),
    gettext_noop("The latest day was %(latest)s, %(days)s day ago."),
    "days",
)


def shown(visit: Visit) -> str:
    """Return the visit's place, by which people know it."""
    return visit.course.property.name


def refused(finding: Finding) -> Finding:
    """Return a finding that stops the visit."""
    return replace(finding, severity=Severity.REFUSAL)


def held(visit: Visit, hold: Hold) -> Finding:
    """Say that the visit is held."""
    with translation.override("en"):
        reason = Marked(hold.get_reason_display())
    return _finding(
        visit,
        "held",
        Severity.REFUSAL,
        gettext_noop("Held since %(since)s: %(reason)s. %(note)s"),
        gettext_noop("Lift the hold."),
        since=hold.set_at.astimezone(visit.course.property.zone()).date().isoformat(),
        reason=reason,
        note=hold.note,
    )


def too_early(visit: Visit, day: date) -> Finding:
    """Say that the day lies before the first day of the visit."""
    return _finding(
        visit,
        "too-early",
        Severity.REFUSAL,
        gettext_noop("%(day)s is before %(earliest)s, the first day of this visit."),
        gettext_noop("Take a day from %(earliest)s to %(latest)s."),
        day=day.isoformat(),
        earliest=visit.earliest.isoformat(),
        latest=visit.latest.isoformat(),
    )


def too_soon(visit: Visit, product: Product, day: date, other: date, limit: int) -> Finding:
    """Say that a label asks for more days between two uses on one planting.

    limit: those days
    """
    before, after = sorted([day, other])
    return _finding(
        visit,
        "interval-too-short",
        Severity.REFUSAL,
        TOO_SOON,
        WAIT,
        source="label",
        product=product.name,
        day=after.isoformat(),
        before=before.isoformat(),
        days=(after - before).days,
        limit=limit,
        earliest=(before + timedelta(limit)).isoformat(),
    )


def late(visit: Visit, today: date) -> Finding:
    """Say that the latest day of the visit has passed."""
    return _finding(
        visit,
        "late",
        Severity.WARNING,
        LATE,
        gettext_noop("Count the pest again, and make the visit soon or end the course."),
        latest=visit.latest.isoformat(),
        days=(today - visit.latest).days,
    )


def previous_not_done(visit: Visit, earlier: int, planned: date, day: date) -> Finding:
    """Say that an earlier week is still to be made; not planned before the day it stops the visit.

    earlier, planned: that week of the rotation, and the day for which it is planned
    day: on which the visit is to be made
    """
    return _finding(
        visit,
        "previous-not-done",
        Severity.WARNING if planned < day else Severity.REFUSAL,
        gettext_noop("Week %(earlier)s, planned for %(planned)s, is not done yet."),
        gettext_noop("Make week %(earlier)s first; the days of this one are counted from it."),
        earlier=earlier,
        planned=planned.isoformat(),
    )


def in_bloom(visit: Visit, planting: Planting, product: Product) -> Finding:
    """Say that a planting flowers and the label forbids the product then."""
    return _finding(
        visit,
        "in-bloom",
        Severity.REFUSAL,
        gettext_noop("%(planting)s blooms until %(end)s, and %(product)s is not for then."),
        gettext_noop("Wait until the petals have fallen, or take another product."),
        source="label",
        planting=planting.name,
        end=planting.bloom_end,
        product=product.name,
    )


def no_certificate(visit: Visit, product: Product, day: date) -> Finding:
    """Say that nobody may apply the product there on the day."""
    return _finding(
        visit,
        "no-certificate",
        Severity.REFUSAL,
        gettext_noop(
            "Nobody holds a certificate of %(jurisdiction)s for %(category)s on %(day)s, which "
            "%(product)s needs."
        ),
        gettext_noop("Enter the certificate of somebody who holds it, or take another product."),
        jurisdiction=visit.course.property.jurisdiction,
        category=product.certificate_category,
        day=day.isoformat(),
        product=product.name,
    )


def crew_not_certified(visit: Visit, product: Product, crew: Crew, day: date) -> Finding:
    """Say that the crew that has the visit on its route may not apply the product any more."""
    return _finding(
        visit,
        "crew-not-certified",
        Severity.REFUSAL,
        gettext_noop(
            "%(crew)s has this visit on its route of %(day)s, and no certificate of its people "
            "allows %(product)s in %(jurisdiction)s on that day any more."
        ),
        gettext_noop("Send a crew that is certified, or recall the route."),
        source="40CFR171-101",
        crew=crew.name,
        day=day.isoformat(),
        product=product.name,
        jurisdiction=visit.course.property.jurisdiction,
    )


def amounts_unknown(visit: Visit) -> Finding:
    """Say that neither label nor calibration tells how much spray is needed."""
    return _finding(
        visit,
        "no-calibration",
        Severity.REFUSAL,
        gettext_noop(
            "Neither the label nor a valid calibration says how much spray 1,000 sq ft take, so "
            "nothing can be measured out."
        ),
        gettext_noop("Calibrate a sprayer."),
    )


def not_mixable(visit: Visit, reason: Refused) -> Finding:
    """Say why nothing can be mixed for the plantings, so that no amount is known."""
    return _finding(
        visit,
        "not-mixable",
        Severity.REFUSAL,
        reason.sentence,
        gettext_noop("Take another rate or product, or treat these plantings by themselves."),
        source="label",
        **reason.facts,
    )


def not_calibrated(visit: Visit) -> Finding:
    """Say that the label's gallons are known and no sprayer is calibrated to them."""
    return _finding(
        visit,
        "no-calibration",
        Severity.WARNING,
        gettext_noop(
            "No sprayer on a truck has a valid calibration; the label's gallons are taken."
        ),
        gettext_noop("Calibrate a sprayer."),
    )


def on_another_day(visit: Visit, day: date) -> Finding:
    """Say that the visit has a crew on another day than the one asked for."""
    return _finding(
        visit,
        "has-a-crew-already",
        Severity.REFUSAL,
        gettext_noop("%(crew)s has this visit on its route of %(day)s."),
        gettext_noop("Recall that route, or move the visit, before another crew is sent."),
        crew=visit.route().crew.name,
        day=visit.route().day.isoformat(),
    )


def no_day(visit: Visit, first: date, last: date) -> Finding:
    """Say that none of the days that are planned is one of the visit's."""
    return _finding(
        visit,
        "no-day-in-week",
        Severity.REFUSAL,
        gettext_noop(
            "From %(first)s to %(last)s there is no day of this visit, which may be made from "
            "%(earliest)s to %(latest)s."
        ),
        gettext_noop("Take the week in which its days are."),
        first=first.isoformat(),
        last=last.isoformat(),
        earliest=visit.earliest.isoformat(),
        latest=visit.latest.isoformat(),
    )


def _finding(
    visit: Visit,
    code: str,
    severity: Severity,
    sentence: str,
    remedy: str,
    *,
    source: str = "common practice",
    **facts: object,
) -> Finding:
    return Finding(code, severity, sentence, remedy, facts, source, visit.week)

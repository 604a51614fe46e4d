"""Stops that a crew was sent to and that nobody has reported: their records may be owed."""

from collections.abc import Callable
from datetime import datetime, timedelta
from functools import cache

from django.db.models import Exists, OuterRef
from django.urls import reverse
from django.utils.formats import date_format

from clients.access import CREW, has_role
from services.models import Hold, Visit
from treatments.owing import OwedReport
from treatments.rulebook import Binding, rules_at
from treatments.rules.records import RuleSet, record_due

Rules = Callable[[str, Binding], list[RuleSet]]
LOOKED_AT = timedelta(days=365)  # our own choice, as of the records


def reports_owed(user, now: datetime) -> list[OwedReport]:
    """Return the open stops with a spray whose hour has passed, what is due first at the head."""
    if not has_role(user, CREW):
        return []
    visits = Visit.objects.for_user(user).open().with_all_that_is_shown()
    passed = visits.filter(
        dispatch__isnull=False,
        rotation_week__product__isnull=False,
        leaves_at__range=(now - LOOKED_AT, now),
    ).exclude(Exists(Hold.objects.filter(visit=OuterRef("pk"), lifted_at__isnull=True)))
    rules_once = cache(rules_at)  # the same for all stops of a place and day
    # Sorted here: asked for in order, SQLite walks along all visits to spare the sorting.
    unsorted = passed.select_related("dispatch__crew").order_by()
    found = [_owed(visit, now, rules_once) for visit in unsorted]
    return sorted(found, key=lambda owed: (owed.due_at, owed.place))


def _owed(visit: Visit, now: datetime, rules: Rules) -> OwedReport:
    place, product = visit.course.property, visit.rotation_week.sprayed_product()
    done = (visit.leaves_at or now).astimezone(place.zone())
    binding = Binding(done.date(), product.restricted_use, place.production_site)
    due = record_due(done, place.jurisdiction, rulesets=rules(place.jurisdiction, binding))
    late = now > due.due_at
    return OwedReport(
        place=place.name,
        what=product.name,
        crew=visit.dispatch.crew.name if visit.dispatch else "",
        day=done.date(),
        due_at=due.due_at,
        due=f"{date_format(due.due_at, 'SHORT_DATETIME_FORMAT')} {due.due_at:%Z}",
        is_late=late,
        is_due_today=not late and due.due_at.date() == now.astimezone(place.zone()).date(),
        url=reverse("services:visit", args=[visit.pk]),
    )

"""How long it takes to say what stands in the way of a week of 500 planned visits.

Run by name: `pytest tests/benchmarks/bench_findings.py -s`.
"""

import sys
from datetime import date, timedelta
from decimal import Decimal
from time import perf_counter, process_time

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clients.models import Planting, Property
from services.dispatching import what_stands_in_the_way
from services.models import Course, Visit
from tests.services.conftest import course, crew, oil_lot, rotation, visits
from treatments.chosen import forget

__all__ = ["course", "crew", "oil_lot", "rotation", "visits"]  # fixtures of the schedule

MONDAY = date(2026, 7, 6)
VISITS, A_FEW = 500, 20
MOST_SECONDS, ROUNDS = 1.0, 3  # of work on the processor, whatever else the machine does


@pytest.fixture
def week(visits, soap_lot, oil_lot, calibration, crew, rose_bed, rotation, owner):
    """Five hundred visits of one week: each course, place and size of a bed is its own."""
    return week_of(VISITS, rose_bed, rotation, owner)


def week_of(count, rose_bed, rotation, owner):
    """Put so many visits into the first week of a rotation, over five days; return them."""
    first = rotation.weeks.get(week=1)
    places = Property.objects.bulk_create(
        _like(rose_bed.property, name=f"Place {number}") for number in range(count)
    )
    beds = Planting.objects.bulk_create(
        _like(rose_bed, property=place, length_ft=20 + Decimal(number) / 10)
        for number, place in enumerate(places)
    )
    courses = Course.objects.bulk_create(
        Course(property=place, rotation=rotation, first_day=MONDAY, started_by=owner)
        for place in places
    )
    through = Course.plantings.through
    through.objects.bulk_create(
        through(course_id=each.pk, planting_id=bed.pk)
        for each, bed in zip(courses, beds, strict=True)
    )
    return Visit.objects.bulk_create(
        _visit(each, first, MONDAY + timedelta(days=number % 5))
        for number, each in enumerate(courses)
    )


def _like(kept, **others):
    """Return another row like one that is kept, not kept yet."""
    fields = {field.attname: getattr(kept, field.attname) for field in kept._meta.concrete_fields}
    del fields["id"]
    fields.pop("property_id" if "property" in others else "", None)
    return type(kept)(**fields | others)


def _visit(of_course, week, day):
    return Visit(
        course=of_course,
        rotation_week=week,
        earliest=day,
        planned=day,
        latest=day + timedelta(days=2),
    )


def test_the_findings_of_500_visits_come_within_a_second(week, record_property):
    what_stands_in_the_way(week[:1], MONDAY)  # whatever is read or imported but once

    rounds = []
    for _round in range(ROUNDS):
        started, worked = perf_counter(), process_time()
        found = what_stands_in_the_way(week, MONDAY)
        rounds.append((process_time() - worked, perf_counter() - started))
    work, seconds = min(rounds)

    sys.stdout.write(
        f"\n{VISITS} visits: {1000 * seconds:.0f} ms on the clock, {1000 * work:.0f} ms of work\n"
    )
    assert len(found) == VISITS
    record_property("findings of 500 visits", work / MOST_SECONDS)
    assert work < MOST_SECONDS


def test_no_query_is_asked_for_a_visit(week):
    asked = []
    for visits_asked in (week[:A_FEW], week):
        forget()  # which rules were chosen is remembered
        with CaptureQueriesContext(connection) as seen:
            what_stands_in_the_way(visits_asked, MONDAY)
        asked.append(len(seen))

    assert asked[0] == asked[1]

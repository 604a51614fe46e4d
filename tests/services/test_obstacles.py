"""What stands in the way of visits, and the week as its page shows it."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest

from clients.access import role_of
from clients.models import Neighbour
from services.courses import Mark
from services.dispatching import dispatch_day, week_of, what_stands_in_the_way
from services.holding import hold_visit
from services.models import Course, Visit
from services.showing.obstacles import with_days_in_words
from treatments.chosen import chosen
from treatments.gathering import local_day
from treatments.models import ActiveIngredient, EarlierApplication, Product, RotationWeek
from treatments.recording import record_application
from treatments.rules.findings import Finding, Marked, Severity

MONDAY = date(2026, 7, 6)
SATURDAY = date(2026, 7, 4)
DAWN = datetime(2026, 7, 6, 9, tzinfo=UTC)


@pytest.fixture
def ready(visits, soap_lot, oil_lot, calibration, crew, reading_society):
    """The visits with nothing in their way: store, certificate, calibration, no notice wanted."""
    reading_society.wants_notice = False
    reading_society.save()
    return visits


def codes(visit, today=MONDAY, day=None):
    return [finding.code for finding in what_stands_in_the_way([visit], today, day)[visit.pk]]


def test_nothing_stands_in_the_way_of_a_visit_that_is_ready(ready):
    assert codes(ready[0]) == []


def test_a_hold_stands_in_the_way(ready):
    ready[0].holds.create(reason="rain", set_at=DAWN)

    assert codes(ready[0]) == ["held"]


def test_a_visit_is_late_from_the_day_after_its_latest(ready):
    latest = ready[0].latest

    assert codes(ready[0], today=latest) == []
    assert codes(ready[0], today=latest + timedelta(days=1)) == ["late"]


@pytest.mark.parametrize(("day", "severity"), [(7, "warning"), (6, "refusal")])
def test_an_earlier_week_that_is_not_done_stands_in_the_way(ready, day, severity):
    Visit.objects.filter(pk=ready[1].pk).update(earliest=MONDAY, planned=MONDAY)

    found = what_stands_in_the_way([ready[1]], MONDAY, date(2026, 7, day))[ready[1].pk]

    assert [(finding.code, finding.severity) for finding in found] == [
        ("previous-not-done", severity)
    ]


@pytest.mark.parametrize(("day", "found"), [(15, ["in-bloom"]), (16, [])])
def test_bloom_stands_in_the_way_up_to_its_last_day(ready, soap, day, found):
    soap.bloom_rule = "not in bloom"
    soap.save()
    Visit.objects.filter(pk=ready[0].pk).update(earliest=date(2026, 6, 1))

    assert codes(ready[0], day=date(2026, 6, day)) == found


@pytest.mark.parametrize(
    ("day", "found"), [(6, []), (7, ["no-certificate", "certificate-expired"])]
)
def test_a_certificate_holds_through_its_last_day(ready, applicator, day, found):
    applicator.certificates.update(expires_on=MONDAY)

    assert codes(ready[0], day=date(2026, 7, day)) == found


@pytest.mark.parametrize(
    ("changes", "why"),
    [
        ({"categories": ["aquatic"]}, ["category-not-held"]),
        ({"suspended_from": MONDAY}, ["certificate-suspended"]),
        ({"own_property_only": True}, ["certificate-own-property"]),
        ({"jurisdiction": "US-NY"}, []),
    ],
)
def test_why_no_certificate_serves_is_said_before_anybody_drives(ready, applicator, changes, why):
    # [40CFR171-101] a certificate counts by category and place
    applicator.certificates.update(**changes)

    assert codes(ready[0]) == ["no-certificate", *why]


@pytest.mark.parametrize(("gone", "found"), [("120.5", []), ("120.501", ["stock-short"])])
def test_the_store_suffices_to_the_last_drop(ready, soap_lot, owner, gone, found):
    soap_lot.entries.create(
        kind="disposed", amount=-Decimal(gone), happened_at=DAWN, entered_by=owner
    )

    assert codes(ready[0]) == found


def test_of_two_visits_the_more_urgent_is_served_first(ready, soap_lot, owner):
    soap_lot.entries.create(kind="disposed", amount=-120, happened_at=DAWN, entered_by=owner)

    found = what_stands_in_the_way([ready[2], ready[0]], MONDAY)

    assert [finding.code for finding in found[ready[0].pk]] == []
    assert "stock-short" in [finding.code for finding in found[ready[2].pk]]


def test_without_a_calibration_the_label_s_gallons_are_taken_with_a_warning(ready, calibration):
    calibration.delete()

    assert codes(ready[0]) == ["no-calibration"]


def test_without_gallons_and_calibration_nothing_can_be_measured(ready, calibration, soap):
    calibration.delete()
    soap.rates.update(gallons_per_1000_sq_ft=None)

    found = what_stands_in_the_way([ready[0]], MONDAY)[ready[0].pk]

    assert [finding.severity for finding in found] == ["refusal"]


def test_a_neighbour_on_the_registry_must_be_told_in_time(ready, library):
    library.neighbours.create(
        name="N. Ext", phone="555-0101", ground=Neighbour.Ground.REGISTRY, distance_ft=400
    )

    found = what_stands_in_the_way([ready[0]], SATURDAY)[ready[0].pk][0]

    # [PA-128-112] 12 to 72 hours before: so that no hour of Monday is missed, from Saturday 00:00
    assert (found.code, found.source) == ("notice-to-give", "PA-128-112")
    assert found.facts["opens"] == "2026-07-04 00:00"
    assert found.facts["names"] == "N. Ext"


@pytest.mark.parametrize(("distance_ft", "is_bound"), [(500, True), (501, False)])
def test_the_registry_of_pennsylvania_reaches_500_feet(ready, library, distance_ft, is_bound):
    # [PA-128-112] everyone on the registry whose property line lies within 500 feet
    library.neighbours.create(
        name="N. Ext", phone="555-0101", ground="registry", distance_ft=distance_ft
    )

    found = what_stands_in_the_way([ready[0]], SATURDAY)[ready[0].pk][0]

    assert (found.code, found.facts["bound"]) == ("notice-to-give", is_bound)


def test_what_was_made_has_nothing_in_its_way(ready, done_visit):
    assert codes(done_visit, today=date(2026, 8, 1)) == []


def test_the_number_of_queries_does_not_grow(ready, django_assert_max_num_queries):
    chosen()  # read once a request
    with django_assert_max_num_queries(24) as one:
        what_stands_in_the_way(ready[:1], MONDAY)
    with django_assert_max_num_queries(24) as three:
        what_stands_in_the_way(ready, MONDAY)

    assert len(one) == len(three)


def test_a_week_groups_its_visits_by_the_week_of_their_rotation(ready, course, rotation, owner):
    second = Course.objects.create(
        property=course.property, rotation=rotation, first_day=date(2026, 6, 29)
    )
    for visit in course.visits.all():
        visit.pk, visit.course = None, second
        visit.earliest -= timedelta(days=7)
        visit.planned -= timedelta(days=7)
        visit.latest -= timedelta(days=7)
        visit.save(force_insert=True)

    groups = week_of(MONDAY, user=owner, today=MONDAY)

    # week 1 of the older course is late, its week 2 is from 4 to 8 and week 3 from 11 to 15 July
    assert [(group.week, len(group.rows)) for group in groups] == [(1, 2), (2, 2), (3, 1)]
    assert groups[0].rows[0].weeks == 3


def test_a_week_may_be_narrowed_to_one_week_of_the_rotation(ready, owner):
    assert [group.week for group in week_of(MONDAY, user=owner, week=2, today=MONDAY)] == [2]


def test_a_late_visit_stands_in_the_present_week_only(ready, owner):
    today = date(2026, 7, 20)

    present = week_of(today, user=owner, week=1, today=today)
    following = week_of(date(2026, 7, 27), user=owner, week=1, today=today)

    assert present[0].rows[0].is_late
    assert following == []


def test_the_marks_of_a_week(ready, owner):
    dispatch_day(day=MONDAY, visits=ready[:1], by=owner, now=DAWN)
    ready[1].holds.create(reason="wind", set_at=DAWN)

    groups = week_of(MONDAY, user=owner, today=MONDAY)

    assert [group.rows[0].mark for group in groups] == [Mark.DISPATCHED, Mark.HELD]
    assert not groups[1].rows[0].may_be_dispatched()


def test_a_week_of_one_crew_shows_its_routes(ready, crew, owner):
    dispatch_day(day=MONDAY, visits=ready[:1], by=owner, now=DAWN)

    groups = week_of(MONDAY, user=owner, crew=crew, today=MONDAY)

    assert [row.visit for group in groups for row in group.rows] == [ready[0]]


def test_a_technician_sees_only_the_routes_of_his_crew(ready, technician, owner):
    before = week_of(MONDAY, user=technician, today=MONDAY)
    dispatch_day(day=MONDAY, visits=ready[:1], by=owner, now=DAWN)

    after = week_of(MONDAY, user=technician, today=MONDAY)

    assert before == []
    assert [row.visit for group in after for row in group.rows] == [ready[0]]


def test_a_week_takes_a_fixed_number_of_queries(ready, owner, django_assert_max_num_queries):
    role_of(owner)
    chosen()  # both are read once a request
    with django_assert_max_num_queries(25) as few:
        week_of(MONDAY, user=owner, week=1, today=MONDAY)
    with django_assert_max_num_queries(25) as more:
        week_of(MONDAY, user=owner, today=MONDAY)

    assert len(few) == len(more)


@pytest.fixture
def same_bed(course, rotation, owner):
    """The same rotation on the same bed once more, two days later."""
    second = Course.objects.create(
        property=course.property, rotation=rotation, first_day=MONDAY + timedelta(days=2)
    )
    second.plantings.set(course.plantings.all())
    for visit in course.visits.all():
        visit.pk, visit.course = None, second
        visit.planned += timedelta(days=2)
        visit.latest += timedelta(days=2)
        visit.save(force_insert=True)
    return second


def first_of(course):
    return course.visits.get(rotation_week__week=1)


def said_of(visit):
    (found,) = what_stands_in_the_way([visit], MONDAY)[visit.pk]
    return found


def too_soon(visit):
    return "interval-too-short" in codes(visit)


# The soap's label asks for seven days between two uses, whichever course they belong to.
def test_two_courses_of_one_bed_keep_the_interval_of_the_label(ready, course, same_bed):
    assert not too_soon(first_of(course))

    found = said_of(first_of(same_bed))

    assert (found.code, found.severity) == ("interval-too-short", Severity.REFUSAL)
    assert (found.facts["before"], found.facts["days"]) == ("2026-07-06", 2)


def test_who_has_a_crew_comes_first(ready, course, same_bed, dispatched):
    Visit.objects.filter(pk=dispatched.pk).update(dispatch=None, position=None)
    dispatched.dispatch.day = first_of(same_bed).planned
    dispatched.dispatch.save()
    Visit.objects.filter(pk=first_of(same_bed).pk).update(dispatch=dispatched.dispatch, position=1)

    assert too_soon(first_of(course))


def test_a_visit_that_is_held_makes_nobody_wait(ready, course, same_bed, owner):
    hold_visit(first_of(course), reason="wind", by=owner, at=DAWN)

    assert not too_soon(first_of(same_bed))


def test_what_another_book_told_counts_as_a_record_does(ready, course, rose_bed, soap):
    EarlierApplication.objects.create(
        planting=rose_bed,
        product=soap,
        product_name=soap.name,
        applied_on=MONDAY - timedelta(days=6),
        taken_over_at=DAWN,
    )

    assert too_soon(first_of(course))
    EarlierApplication.objects.update(applied_on=MONDAY - timedelta(days=7))
    assert not too_soon(first_of(course))


def test_days_and_hours_of_a_reason_read_as_on_the_rest_of_the_page():
    reason = Finding(
        code="x",
        severity=Severity.WARNING,
        sentence="%(who)s by %(at)s, %(day)s",
        facts={"who": Marked("wind"), "at": "2026-07-06 18:30", "day": "since 2026-07-04"},
    )

    told = with_days_in_words(reason)

    assert told.facts["at"] == "Mon Jul 6, 6:30 pm"
    assert told.facts["day"] == "since Sat Jul 4"
    assert isinstance(told.facts["who"], Marked)


@pytest.fixture
def releasing(ready, course):
    """The first visit, at which natural enemies are released instead of a spray."""
    week = first_of(course).rotation_week
    week.step, week.product, week.rate, week.basis = RotationWeek.Step.RELEASE, None, None, ""
    week.save()
    return first_of(course)


@pytest.fixture
def lasting(db):
    """A product whose residue harms natural enemies for three weeks: common practice."""
    product = Product.objects.create(
        name="Lasting EC",
        epa_registration_number="0-909",
        formulation_code="EC",
        signal_word="WARNING",
        label_version="2025-01",
    )
    abamectin, _ = ActiveIngredient.objects.get_or_create(name="abamectin")
    product.contents.create(ingredient=abamectin, percent_by_weight=Decimal("1.9"))
    return product


@pytest.mark.parametrize(("days", "found"), [(20, ["residue-left"]), (21, [])])
def test_what_another_book_told_harms_natural_enemies_as_long(
    releasing, lasting, rose_bed, days, found
):
    EarlierApplication.objects.create(
        planting=rose_bed,
        product=lasting,
        product_name=lasting.name,
        applied_on=MONDAY - timedelta(days=days),
        taken_over_at=DAWN,
    )

    assert codes(releasing) == found


def test_what_was_applied_since_the_course_was_put_on_harms_them_too(releasing, stated):
    day = local_day(
        record_application(**stated)
    )  # soap, after which a day is waited: common practice

    assert "residue-left" in codes(releasing, today=day, day=day)
    assert "residue-left" not in codes(releasing, today=day, day=day + timedelta(days=1))


def test_a_lasting_spray_after_a_release_is_warned_of(releasing, visits, lasting, rotation):
    Visit.objects.filter(pk=releasing.pk).update(state=Visit.State.COMPLETED, completed_at=DAWN)
    RotationWeek.objects.filter(rotation=rotation, week=2).update(product=lasting)

    found = what_stands_in_the_way([visits[1]], MONDAY)[visits[1].pk]

    assert [each.week for each in found if each.code == "spoils-release"] == [2]

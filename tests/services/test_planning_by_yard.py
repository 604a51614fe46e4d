"""A big week of two yards: each is planned by itself, at once, from one store."""

from datetime import UTC, date, datetime
from decimal import Decimal

import pytest

from clients.models import Property
from services.models import Crew, LoadLine, Planning, Visit, Yard
from services.plannings import ask_week, by_yard, run_planning, running
from tests.conftest import certified
from treatments.models import Certificate

MONDAY = date(2026, 7, 6)
DAWN = datetime(2026, 7, 6, 9, tzinfo=UTC)  # 05:00 at both yards


@pytest.fixture
def two_yards(visits, town_hall, crew, second_crew, certified_too, stock, monkeypatch):
    """A crew beside the library and one beside the town hall, a hundred miles apart."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: DAWN)
    monkeypatch.setattr(by_yard, "MOST_TOGETHER", 1)
    hill = Yard.objects.create(
        name="Hill yard",
        address="1 Hill Lane, Nowhere, PA 00000",
        latitude=Decimal("41.40"),
        longitude=Decimal("-75.60"),
    )
    Crew.objects.filter(pk=second_crew.pk).update(yard=hill)
    Property.objects.filter(pk=town_hall.pk).update(latitude=Decimal("41.42"), longitude=-75.62)
    second_crew.technicians.create(user=certified_too.user)
    return crew, second_crew


@pytest.fixture
def certified_too(db):
    """Somebody else who holds the certificate."""
    return certified("other", "O. Ther", "PA-0009")


@pytest.fixture
def asked(two_yards, owner):
    ids = first_visits().values_list("pk", flat=True)
    return ask_week(monday=MONDAY, visit_ids=ids, by=owner, now=DAWN)


def first_visits():
    return Visit.objects.filter(rotation_week__week=1).order_by("pk")


def crews_of_first_visits():
    return list(first_visits().values_list("dispatch__crew", flat=True))


def test_each_visit_is_planned_with_the_nearest_yard(asked, two_yards):
    library, hall = first_visits()

    assert [row.arguments["waves"] for row in asked] == [[[library.pk]], [[hall.pk]]]
    assert [run_planning(row.pk, now=DAWN) for row in asked] == [True, True]
    assert crews_of_first_visits() == [crew.pk for crew in two_yards]


def test_one_yard_leaves_the_routes_of_another_alone(asked):
    first, second = asked
    run_planning(first.pk, now=DAWN)
    before = first_visits()[0]

    run_planning(second.pk, now=DAWN)

    after = first_visits()[0]
    assert (after.dispatch_id, after.version) == (before.dispatch_id, before.version)


def test_yards_that_plan_at_once_do_not_take_the_same_soap(asked, soap_lot, owner, monkeypatch):
    soap_lot.entries.create(kind="disposed", amount=-120, happened_at=DAWN, entered_by=owner)
    first, second = asked  # 8 fl oz are left, each visit takes 7.5
    write, written = running.write, []

    def write_after_the_other(plan, **told):
        if not written:
            monkeypatch.setattr(running, "write", write)
            run_planning(second.pk, now=DAWN)
            monkeypatch.setattr(running, "write", write_after_the_other)
        changed = write(plan, **told)
        written.append(changed is not None)
        return changed

    monkeypatch.setattr(running, "write", write_after_the_other)

    assert run_planning(first.pk, now=DAWN)
    assert written == [False, True]
    assert LoadLine.objects.get().amount == Decimal("7.5")
    library, hall = first_visits()
    assert (library.left_out["code"], hall.dispatch_id is None) == ("stock-short", False)


def test_what_has_a_crew_stays_with_its_yard(asked, two_yards, owner, town_hall):
    for row in asked:
        run_planning(row.pk, now=DAWN)
    ferry = Yard.objects.get(name="Ferry yard")
    Property.objects.filter(pk=town_hall.pk).update(latitude=ferry.latitude)

    divided = by_yard.by_yard(first_visits().values_list("pk", flat=True), MONDAY)

    assert list(divided) == [crew.yard_id for crew in Crew.objects.order_by("pk")]


def test_few_visits_are_planned_with_the_crews_of_all_yards(two_yards, owner, monkeypatch):
    monkeypatch.setattr(by_yard, "MOST_TOGETHER", 2)
    ids = list(first_visits().values_list("pk", flat=True))

    (row,) = ask_week(monday=MONDAY, visit_ids=ids, by=owner, now=DAWN)

    assert row.arguments == {"waves": [ids]}


def test_a_place_that_nobody_can_find_goes_with_the_first_yard(two_yards, owner, town_hall):
    Property.objects.filter(pk=town_hall.pk).update(latitude=None, longitude=None)

    divided = by_yard.by_yard(first_visits().values_list("pk", flat=True), MONDAY)

    assert list(divided) == [Yard.objects.get(name="Ferry yard").pk]


def test_who_may_not_apply_is_passed_over_for_a_yard_further_away(two_yards, owner):
    Certificate.objects.filter(number="PA-0009").delete()

    divided = by_yard.by_yard(first_visits().values_list("pk", flat=True), MONDAY)

    assert list(divided) == [two_yards[0].yard_id]


def test_the_page_shows_the_week_yard_by_yard(asked, client, dispatcher):
    first, second = asked
    run_planning(first.pk, now=DAWN)
    client.force_login(dispatcher)

    page = client.get(f"/plannings/{first.pk}/").content.decode()

    assert "Ferry yard: dispatched" in page
    assert f'<a href="/plannings/{second.pk}/">Hill yard</a>: It waits for a free worker.' in page
    assert Planning.objects.count() == 2

"""Days planned anew: what is frozen, what is promised, three offers, and one chosen once."""

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError

from services.dispatching import dispatch_day
from services.holding import hold_visit
from services.models import Dispatch, LoadLine, Outbox, Planning, Visit
from services.plannings import ask_replan, run_planning
from services.replanning import choose
from services.telling import people_to_tell

MONDAY = date(2026, 7, 6)
TUESDAY = date(2026, 7, 7)
DAWN = datetime(2026, 7, 6, 9, tzinfo=UTC)  # 05:00 at the yard
NOON = datetime(2026, 7, 6, 16, tzinfo=UTC)
OFFERS = ["insertion", "locked", "free"]


@pytest.fixture
def sent(visits, town_hall, crew, stock, owner):
    """Both first visits are on the crew's route of Monday."""
    return dispatch_day(day=MONDAY, visits=first_visits(), by=owner, now=DAWN)


@pytest.fixture
def told(reading_society):
    """The client was told of all first visits on Monday."""
    reading_society.wants_notice = True
    reading_society.save()
    for visit in first_visits():
        for reader in people_to_tell(visit):
            Outbox.objects.create(
                kind=Outbox.Kind.NOTICE, dedupe_key=reader.key, not_before=DAWN, done_at=DAWN
            )


@pytest.fixture
def replan(owner):
    """Have days planned anew that a crew is not there, and return the offers."""

    def plan(*crews, first=MONDAY, last=None, now=DAWN, with_others=True):
        row = ask_replan(
            lost_from=first,
            lost_until=last or first,
            crews=crews,
            with_others=with_others,
            by=owner,
            now=now,
        )
        run_planning(row.pk, now=now)
        row.refresh_from_db()
        return row

    return plan


def first_visits():
    return Visit.objects.filter(rotation_week__week=1).order_by("pk")


def snapshot():
    return [list(kind.objects.order_by("pk").values()) for kind in (Dispatch, Visit, LoadLine)]


def changes(planning, offer):
    kept = next(each for each in planning.offers if each["kind"] == offer)
    return sorted(row["change"] for row in kept["rows"])


def test_offers_are_made_and_nothing_changes(sent, crew, replan):
    before = snapshot()

    planning = replan(crew)

    assert [offer["kind"] for offer in planning.offers] == OFFERS
    assert planning.is_to_be_chosen()
    assert snapshot() == before


@pytest.mark.parametrize("offer", OFFERS)
def test_a_lost_day_moves_its_visits_to_another_of_their_days(sent, crew, replan, owner, offer):
    planning = replan(crew)

    choose(planning, offer=offer, by=owner, now=DAWN)

    assert changes(planning, offer) == ["day", "day"]
    days = set(first_visits().values_list("dispatch__day", flat=True))
    assert days
    assert all(TUESDAY <= day <= date(2026, 7, 10) for day in days)
    assert not Dispatch.objects.filter(day=MONDAY).exists()


@pytest.mark.parametrize("offer", OFFERS)
def test_choosing_twice_changes_nothing(sent, crew, replan, owner, offer):
    planning = replan(crew)
    first = choose(planning, offer=offer, by=owner, now=DAWN)
    before = snapshot()

    again = choose(Planning.objects.get(), offer=offer, by=owner, now=DAWN)
    other = choose(planning, offer="free", by=owner, now=DAWN)

    assert (first, again) == (True, False)
    assert not other
    assert snapshot() == before


def test_a_sick_crew_gives_its_visits_to_another_on_the_same_day(
    sent, crew, second_crew, learner, technician, replan, owner
):
    technician.technician.crew = second_crew
    technician.technician.save()
    learner.user = technician
    learner.save()
    planning = replan(crew)

    choose(planning, offer="insertion", by=owner, now=DAWN)

    assert set(first_visits().values_list("dispatch__crew", "dispatch__day")) == {
        (second_crew.pk, MONDAY)
    }


def test_what_is_under_way_stays_with_its_crew_and_hour(sent, crew, replan, owner):
    begun, other = first_visits().order_by("position")
    Visit.objects.filter(pk=begun.pk).update(state="IN-PROCESS", started_at=NOON)
    kept = Visit.objects.filter(pk=begun.pk).values().get()
    planning = replan(crew, now=NOON)

    choose(planning, offer="free", by=owner, now=NOON)

    assert Visit.objects.filter(pk=begun.pk).values().get() == kept
    assert Visit.objects.get(pk=other.pk).dispatch.day > MONDAY
    assert LoadLine.objects.get(dispatch__day=MONDAY).amount == Decimal("7.5")


def test_a_crew_on_the_road_goes_on_with_what_is_left_in_its_tank(
    sent, visits, crew, replan, owner, town_hall
):
    crew.truck.water_gallons = Decimal("4.5")  # each visit takes 3 gal
    crew.truck.save()
    begun, other = first_visits().order_by("position")
    Visit.objects.filter(pk=begun.pk).update(state="IN-PROCESS", started_at=DAWN)
    hold = hold_visit(other, reason="wind", by=owner, at=DAWN)
    hold.lifted_at = NOON
    hold.save()
    planning = replan(now=NOON)

    choose(planning, offer="insertion", by=owner, now=NOON)

    route = Dispatch.objects.get(day=MONDAY)
    kinds = [leg["kind"] for leg in route.legs]
    assert kinds.index("refill") < len(kinds) - 1 - kinds[::-1].index("work")
    work = next(leg for leg in route.legs if leg.get("visit") == other.pk)
    assert datetime.fromisoformat(work["from"]) >= NOON


def test_a_promised_day_is_kept_unless_everything_may_move(
    visits, town_hall, crew, stock, owner, told, replan
):
    dispatch_day(day=MONDAY, visits=first_visits()[:1], by=owner, now=DAWN)
    late = first_visits()[1]
    Visit.objects.filter(pk=late.pk).update(planned=date(2026, 7, 8), latest=date(2026, 7, 8))
    dispatch_day(day=date(2026, 7, 8), visits=[late], by=owner, now=DAWN)

    planning = replan(crew)

    assert changes(planning, "insertion") == changes(planning, "locked") == ["day", "stays"]


def test_what_nobody_was_told_of_may_give_its_day_to_what_lost_its_own(
    visits, town_hall, crew, second_crew, learner, technician, stock, owner, replan
):
    """Only a soap for one visit a day is in the tank, and the lost one has Tuesday alone."""
    second_crew.retired = True
    second_crew.save()
    crew.truck.water_gallons, crew.shift_ends = Decimal(3), time(9)
    crew.truck.save()
    crew.save()
    lost, free = first_visits()
    Visit.objects.filter(pk=lost.pk).update(latest=TUESDAY)
    dispatch_day(day=MONDAY, visits=[lost], by=owner, now=DAWN)
    Visit.objects.filter(pk=free.pk).update(planned=TUESDAY, latest=date(2026, 7, 10))
    dispatch_day(day=TUESDAY, visits=[free], by=owner, now=DAWN)

    planning = replan(crew)

    assert changes(planning, "insertion") == ["lost", "stays"]
    assert changes(planning, "locked") == ["day", "day"]


def test_who_was_told_of_the_old_day_is_told_again(sent, told, crew, replan, owner):
    planning = replan(crew)
    kept = planning.offers[0]

    choose(planning, offer="insertion", by=owner, now=DAWN)

    assert kept["counts"]["to_tell"] == 2
    waiting = Outbox.objects.filter(kind=Outbox.Kind.NOTICE, done_at__isnull=True)
    planned = {visit.pk: visit.planned.isoformat() for visit in first_visits()}
    assert {row.dedupe_key.split(":")[2] for row in waiting} == set(planned.values())
    assert waiting.count() == 2


def test_a_visit_that_was_held_gets_a_crew_again(sent, crew, owner, replan):
    hold = hold_visit(first_visits()[0], reason="wind", by=owner, at=DAWN)
    hold.lifted_at = DAWN
    hold.save()
    planning = replan()

    choose(planning, offer="insertion", by=owner, now=DAWN)

    assert changes(planning, "insertion") == ["placed", "stays"]
    assert not first_visits().filter(dispatch__isnull=True).exists()


def test_of_a_course_the_next_week_alone_gets_a_crew(sent, visits, crew, owner, replan):
    Visit.objects.filter(pk=visits[1].pk).update(planned=date(2026, 7, 11))

    planning = replan()

    assert planning.arguments["chosen"] == []


def test_a_held_visit_stays_without_a_crew(sent, crew, owner, replan):
    hold_visit(first_visits()[0], reason="wind", by=owner, at=DAWN)

    assert changes(replan(), "free") == ["stays"]


def test_what_has_no_day_left_loses_its_crew_and_says_why(sent, crew, replan, owner):
    Visit.objects.filter(rotation_week__week=1).update(latest=MONDAY)
    planning = replan(crew)

    choose(planning, offer="insertion", by=owner, now=DAWN)

    assert changes(planning, "insertion") == ["lost", "lost"]
    assert {visit.left_out["code"] for visit in first_visits()} == {"window-outside-shifts"}
    assert not Dispatch.objects.filter(day=MONDAY).exists()


def test_what_changed_meanwhile_is_not_overwritten(sent, crew, owner, replan):
    planning = replan(crew)
    hold_visit(first_visits()[0], reason="wind", by=owner, at=DAWN)
    before = snapshot()

    with pytest.raises(ValidationError) as refused:
        choose(planning, offer="insertion", by=owner, now=DAWN)

    assert refused.value.code == "stale"
    assert snapshot() == before
    assert Planning.objects.get().chosen == ""


def test_days_that_have_passed_are_not_planned_anew(crew, replan):
    with pytest.raises(ValidationError):
        replan(crew, first=MONDAY - timedelta(days=2))

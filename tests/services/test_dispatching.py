"""Handing out a day: who goes where and when, with what; and why a visit stays."""

import json
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from threading import Thread

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.urls import reverse

from services.dispatching import (
    dispatch_day,
    dispatch_facts,
    dispatch_week,
    recall,
    reserved_amounts,
)
from services.dispatching.drafting import draft_day
from services.dispatching.takes import takes_of
from services.models import Dispatch, LoadLine, Technician, Visit
from services.printing.crew_days import crew_day_of
from services.routes import leave_route
from treatments.models import Lot, Sprayer
from treatments.rules.mixing import CalibrationMissing

MONDAY = date(2026, 7, 6)
DAWN = datetime(2026, 7, 6, 9, tzinfo=UTC)  # 05:00 at the yard


def dispatch(owner, visits, day=MONDAY, now=DAWN):
    return dispatch_day(day=day, visits=visits, by=owner, now=now)


def first_visits():
    return Visit.objects.filter(rotation_week__week=1).order_by("pk")


def snapshot():
    """Every row that a dispatch writes, with ids, versions and times."""
    return [
        list(Dispatch.objects.order_by("pk").values()),
        list(Visit.objects.order_by("pk").values()),
        list(LoadLine.objects.order_by("pk").values()),
    ]


def reasons(plan):
    return {left.visit.course.property.name: left.reason.code for left in plan.left_out}


def test_a_visit_gets_crew_hours_and_place(visits, crew, stock, owner):
    plan = dispatch(owner, visits[:1])

    visit = first_visits().get()
    assert (visit.dispatch.crew, visit.position, plan.left_out) == (crew, 1, ())
    assert visit.dispatch.leaves_yard_at <= visit.arrives_at < visit.leaves_at
    assert visit.leaves_at <= visit.dispatch.returns_at


def test_the_truck_takes_what_the_label_and_the_roses_ask(visits, crew, stock, owner):
    plan = dispatch(owner, visits[:1])

    # 600 sq ft at the label's 5 gal in 1,000 sq ft are 3 gal; at 2.5 fl oz/gal 7.5 fl oz
    line = plan.dispatches[0].load.all()[0]
    assert (line.lot, line.amount) == (stock, Decimal("7.5"))
    assert plan.dispatches[0].water_gallons == 3


def test_the_lot_that_expires_first_goes_first(visits, crew, stock, soap, owner):
    older = Lot.objects.create(
        product=soap, lot_number="S-0", received_on=MONDAY, expires_on=date(2026, 7, 6)
    )
    older.entries.create(kind="received", amount=5, happened_at=DAWN, entered_by=owner)

    plan = dispatch(owner, visits[:1])

    amounts = {line.lot.lot_number: line.amount for line in plan.dispatches[0].load.all()}
    assert amounts == {"S-0": Decimal(5), "S-1": Decimal("2.5")}


def test_a_lot_is_not_used_on_the_day_after_it_expires(visits, crew, soap, soap_lot, owner):
    soap_lot.expires_on = MONDAY - timedelta(days=1)
    soap_lot.save()

    plan = dispatch(owner, visits[:1])

    assert reasons(plan) == {"Library": "stock-short-but-expired"}


def test_dispatching_twice_changes_nothing(visits, town_hall, crew, stock, owner):
    first = dispatch(owner, first_visits())
    before = snapshot()

    second = dispatch(owner, first_visits(), now=DAWN + timedelta(minutes=5))

    assert (first.is_changed, second.is_changed) == (True, False)
    assert snapshot() == before


def test_what_was_left_out_is_left_out_again_and_nothing_changes(
    visits, town_hall, crew, stock, owner
):
    Visit.objects.filter(course__property=town_hall).update(
        earliest=date(2026, 7, 7), planned=date(2026, 7, 7), latest=date(2026, 7, 9)
    )
    dispatch(owner, first_visits())
    before = snapshot()

    again = dispatch(owner, first_visits())

    assert (reasons(again), again.is_changed) == ({"Town hall": "too-early"}, False)
    assert snapshot() == before


def test_a_visit_added_later_joins_the_route(visits, town_hall, crew, stock, owner):
    dispatch(owner, visits[:1])

    plan = dispatch(owner, first_visits().filter(course__property=town_hall))

    assert len(plan.dispatches) == 1
    assert sorted(first_visits().values_list("position", flat=True)) == [1, 2]
    assert plan.dispatches[0].load.get().amount == 15


def test_a_crew_that_has_begun_keeps_its_hours(visits, town_hall, crew, stock, owner):
    dispatch(owner, visits[:1])
    Visit.objects.filter(pk=visits[0].pk).update(state="IN-PROCESS", started_at=DAWN)
    begun = Visit.objects.filter(pk=visits[0].pk).values().get()
    at_nine = datetime(2026, 7, 6, 13, tzinfo=UTC)

    dispatch(owner, first_visits().filter(course__property=town_hall), now=at_nine)

    assert Visit.objects.filter(pk=visits[0].pk).values().get() == begun
    added = first_visits().get(course__property=town_hall)
    work = next(leg for leg in added.dispatch.legs if leg.get("visit") == added.pk)
    assert datetime.fromisoformat(work["from"]) >= at_nine
    assert added.dispatch.load.get().amount == 15


def test_nobody_is_sent_into_the_past(visits, crew, stock, owner):
    at_ten = datetime(2026, 7, 6, 14, tzinfo=UTC)

    dispatch(owner, visits[:1], now=at_ten)

    assert first_visits().get().dispatch.leaves_yard_at >= at_ten


def test_a_day_that_has_passed_is_not_dispatched(visits, crew, owner):
    with pytest.raises(ValidationError) as refused:
        dispatch(owner, visits[:1], now=DAWN + timedelta(days=1))

    assert refused.value.code == "past"


def test_a_visit_moves_to_the_day_on_which_it_is_dispatched(visits, crew, stock, owner):
    dispatch(owner, visits[:1], day=date(2026, 7, 7))

    planned = Visit.objects.order_by("rotation_week__week").values_list("planned", flat=True)
    assert [day.day for day in planned] == [7, 14, 21]


def test_a_held_visit_stays_and_the_reason_is_kept(visits, crew, stock, owner):
    visits[0].holds.create(reason="wind", set_at=DAWN, note="gusts")

    plan = dispatch(owner, visits[:1])

    kept = first_visits().get().left_out
    assert reasons(plan) == {"Library": "held"}
    assert (kept["code"], kept["facts"]["reason"]) == ("held", "wind")


def test_a_reason_goes_when_the_visit_gets_a_crew(visits, crew, stock, owner):
    hold = visits[0].holds.create(reason="wind", set_at=DAWN)
    dispatch(owner, visits[:1])
    hold.lifted_at = DAWN
    hold.save()

    dispatch(owner, visits[:1])

    assert first_visits().get().left_out == {}


def test_without_the_certificate_of_the_place_nobody_goes(visits, crew, stock, library, owner):
    library.jurisdiction = "US-NJ"
    library.save()

    plan = dispatch(owner, visits[:1])

    assert reasons(plan) == {"Library": "no-certificate"}


def test_a_crew_without_a_certificate_is_not_sent(visits, crew, stock, applicator, owner):
    Technician.objects.filter(user=applicator.user).delete()

    plan = dispatch(owner, visits[:1])

    assert reasons(plan) == {"Library": "no-crew-with-certificate"}


@pytest.mark.parametrize(("restricted_use", "goes"), [(False, True), (True, False)])
def test_a_supervised_person_does_not_take_out_what_only_a_holder_may(
    visits, crew, stock, applicator, learner, technician, soap, owner, restricted_use, goes
):
    Technician.objects.filter(user=applicator.user).delete()
    learner.user = technician
    learner.save()
    soap.restricted_use = restricted_use
    soap.save()

    plan = dispatch(owner, visits[:1])

    assert bool(plan.dispatches) is goes
    if restricted_use:  # [40CFR171-201] the certified applicator is at hand
        assert reasons(plan) == {"Library": "no-holder-on-crew"}


@pytest.mark.parametrize(("height", "goes"), [(8, True), (9, False)])
def test_a_sprayer_must_reach_the_top(visits, crew, stock, rose_bed, owner, height, goes):
    rose_bed.height_ft = height
    rose_bed.save()

    plan = dispatch(owner, visits[:1])

    assert bool(plan.dispatches) is goes
    assert goes or reasons(plan) == {"Library": "no-crew-with-equipment"}


def test_a_product_that_settles_wants_a_sprayer_that_stirs(visits, crew, stock, soap, owner):
    soap.needs_agitation = True
    soap.save()
    before = dispatch(owner, visits[:1])
    Sprayer.objects.update(has_agitation=True)

    after = dispatch(owner, visits[:1])

    assert (len(before.dispatches), len(after.dispatches)) == (0, 1)


def test_two_trucks_do_not_take_the_same_soap(
    visits, town_hall, crew, second_crew, stock, applicator, owner
):
    stock.entries.create(kind="disposed", amount=-120, happened_at=DAWN, entered_by=owner)

    plan = dispatch(owner, first_visits())  # 8 fl oz are left, each visit takes 7.5

    assert list(reasons(plan).values()) == ["stock-short"]
    assert sum(line.amount for line in LoadLine.objects.all()) == Decimal("7.5")


def test_what_is_loaded_for_one_day_is_not_promised_to_another(
    visits, town_hall, crew, stock, owner
):
    stock.entries.create(kind="disposed", amount=-120, happened_at=DAWN, entered_by=owner)
    dispatch(owner, visits[:1])

    plan = dispatch(owner, first_visits().filter(course__property=town_hall), day=date(2026, 7, 7))

    assert reasons(plan) == {"Town hall": "stock-short"}


def test_the_store_is_told_what_is_loaded(visits, crew, stock, owner, monkeypatch):
    monkeypatch.setattr("django.utils.timezone.now", lambda: DAWN)
    dispatch(owner, visits[:1])

    assert reserved_amounts([stock]) == {stock.pk: Decimal("7.5")}


def test_dusk_is_kept_and_a_shift_that_ends_before_it_is_named(
    visits, crew, stock, rotation, owner
):
    rotation.weeks.update(at_dusk=True)
    by_day = dispatch(owner, visits[:1])
    crew.shift_starts, crew.shift_ends = time(13), time(22)
    crew.save()

    in_the_evening = dispatch(owner, visits[:1])

    assert reasons(by_day) == {"Library": "window-outside-shifts"}
    assert in_the_evening.dispatches
    arrives = first_visits().get().arrives_at
    assert arrives >= datetime(2026, 7, 6, 23, tzinfo=UTC)  # 19:00


def test_on_a_day_off_nobody_goes(visits, crew, stock, owner):
    crew.weekdays = ["1"]
    crew.save()

    plan = dispatch(owner, visits[:1])

    assert plan.dispatches == ()
    assert first_visits().get().left_out["code"]


def test_a_recalled_route_is_free_again_and_comes_back_the_same(
    visits, town_hall, crew, stock, owner
):
    plan = dispatch(owner, first_visits())
    hours = list(first_visits().values_list("position", "arrives_at"))

    recalled = recall(plan.dispatches[0])
    again = recall(plan.dispatches[0])
    free = not Dispatch.objects.exists()
    dispatch(owner, first_visits())

    assert (len(recalled), again, free) == (2, [], True)
    assert list(first_visits().values_list("position", "arrives_at")) == hours


def test_a_recall_leaves_what_was_begun(visits, town_hall, crew, stock, owner):
    plan = dispatch(owner, first_visits())
    Visit.objects.filter(pk=visits[0].pk).update(state="IN-PROCESS")

    recall(plan.dispatches[0])

    assert first_visits().filter(dispatch__isnull=False).get() == visits[0]
    assert LoadLine.objects.get().amount == Decimal("7.5")


def test_a_visit_goes_along_on_another_of_its_days_where_that_saves_a_trip(
    visits, town_hall, crew, stock, owner
):
    Visit.objects.filter(course__property=town_hall, rotation_week__week=1).update(
        planned=date(2026, 7, 7)
    )

    dispatch_week(
        monday=MONDAY, visit_ids=first_visits().values_list("pk", flat=True), by=owner, now=DAWN
    )

    assert Dispatch.objects.count() == 1
    assert first_visits().values("planned").distinct().count() == 1


def test_a_week_is_dispatched_each_visit_on_its_day(visits, town_hall, crew, stock, owner):
    Visit.objects.filter(course__property=town_hall, rotation_week__week=1).update(
        earliest=date(2026, 7, 11), planned=date(2026, 7, 11), latest=date(2026, 7, 11)
    )

    plans = dispatch_week(
        monday=MONDAY, visit_ids=first_visits().values_list("pk", flat=True), by=owner, now=DAWN
    )

    assert [plan.day.day for plan in plans] == [6, 11]
    assert Dispatch.objects.count() == 2


def test_a_week_dispatched_twice_is_dispatched_once(visits, town_hall, crew, stock, owner):
    ids = list(first_visits().values_list("pk", flat=True))
    dispatch_week(monday=MONDAY, visit_ids=ids, by=owner, now=DAWN)
    before = snapshot()

    dispatch_week(monday=MONDAY, visit_ids=ids, by=owner, now=DAWN)

    assert snapshot() == before


def test_a_visit_that_has_no_room_on_its_day_goes_on_another_of_its_days(
    visits, crew, stock, library, owner
):
    library.access_windows.create(weekday=2, opens=time(8), closes=time(12))

    plans = dispatch_week(monday=MONDAY, visit_ids=[visits[0].pk], by=owner, now=DAWN)
    before = snapshot()
    again = dispatch_week(monday=MONDAY, visit_ids=[visits[0].pk], by=owner, now=DAWN)

    assert first_visits().get().dispatch.day == date(2026, 7, 8)
    assert [left for plan in plans for left in plan.left_out] == []
    assert (snapshot(), [plan.is_changed for plan in again]) == (before, [False])


def test_a_visit_that_has_room_on_none_of_its_days_keeps_its_reason(
    visits, crew, stock, library, owner
):
    library.access_windows.create(weekday=5, opens=time(8), closes=time(12))

    plans = dispatch_week(monday=MONDAY, visit_ids=[visits[0].pk], by=owner, now=DAWN)
    before = snapshot()
    dispatch_week(monday=MONDAY, visit_ids=[visits[0].pk], by=owner, now=DAWN)

    assert snapshot() == before
    assert [left.visit for plan in plans for left in plan.left_out] == [visits[0]]
    assert first_visits().get().left_out["code"] == "no-access-that-day"


def test_a_visit_planned_for_the_week_after_may_go_on_a_day_it_has_in_this(
    visits, crew, stock, owner
):
    Visit.objects.filter(pk=visits[0].pk).update(
        earliest=date(2026, 7, 10), planned=date(2026, 7, 13), latest=date(2026, 7, 14)
    )

    dispatch_week(monday=MONDAY, visit_ids=[visits[0].pk], by=owner, now=DAWN)

    assert first_visits().get().dispatch.day == date(2026, 7, 11)


def test_a_late_visit_goes_today(visits, crew, stock, owner):
    now = DAWN + timedelta(days=14)

    dispatch_week(monday=date(2026, 7, 20), visit_ids=[visits[0].pk], by=owner, now=now)

    assert first_visits().get().dispatch.day == date(2026, 7, 20)


def test_the_facts_of_a_day_are_plain(visits, town_hall, crew, stock, owner):
    visits[0].holds.create(reason="wind", set_at=DAWN)

    facts = dispatch_facts(dispatch(owner, first_visits()))

    assert json.loads(json.dumps(facts)) == facts
    assert facts["dispatches"][0]["visits"][0]["property"] == "Town hall"
    assert facts["dispatches"][0]["load"][0]["amount"] == "7.500"
    assert facts["left_out"][0]["code"] == "held"


def test_without_gallons_on_the_label_the_calibration_is_taken(visits, soap, crew, calibration):
    soap.rates.update(gallons_per_1000_sq_ft=None)
    calibration.gallons_per_1000_sq_ft = Decimal(2)
    calibration.save()
    visit = Visit.objects.get(pk=visits[0].pk)

    takes = takes_of(visit, [crew], MONDAY)
    unknown = takes_of(visit, [], MONDAY)

    assert (takes.gallons, takes.products[0].amount) == (Decimal("1.2"), Decimal(3))
    assert (takes.problem, type(unknown.problem)) == (None, CalibrationMissing)


def test_the_truck_takes_what_the_sheet_tells_to_measure(visits, crew, stock, rose_bed, owner):
    rose_bed.measured_area_sq_ft = Decimal(34)  # 0.17 gal: exactly 0.425 fl oz
    rose_bed.save()

    plan = dispatch(owner, visits[:1])

    # 12.6 ml of a small syringe are 0.42606 fl oz (1 fl oz = 29.5735 ml [NIST-HB44]), rounded up
    line = plan.dispatches[0].load.all()[0]
    assert line.amount == Decimal("0.427")


def test_what_no_tool_measures_stays_with_its_reason(visits, crew, stock, rose_bed, owner):
    rose_bed.measured_area_sq_ft = Decimal("0.4")  # 0.002 gal: exactly 0.005 fl oz, 0.15 ml
    rose_bed.save()

    plan = dispatch(owner, visits[:1])

    assert reasons(plan) == {"Library": "amount-cannot-be-measured"}
    assert not Dispatch.objects.exists()


def test_a_crew_whose_tank_leaves_too_small_a_rest_is_not_sent(
    visits, crew, stock, rose_bed, sprayer, owner, monkeypatch
):
    # The store counts on some crew that can mix it; the only one that could go cannot.
    rose_bed.measured_area_sq_ft = Decimal("0.4")
    rose_bed.save()
    monkeypatch.setattr("services.dispatching.obstacles.OBSTACLES", ())

    plan = dispatch(owner, visits[:1])

    assert reasons(plan) == {"Library": "amount-cannot-be-measured"}


def test_whichever_crew_goes_the_store_suffices(visits, crew, second_crew, stock, sprayer):
    gun = Sprayer.objects.create(
        name="Gun", kind="power", tank_gallons=Decimal(50), reach_ft=25, has_agitation=True
    )
    second_crew.truck.sprayers.set([gun])
    visit = Visit.objects.get(pk=visits[0].pk)

    most = takes_of(visit, [crew, second_crew], MONDAY).products[0].amount

    assert most == max(
        takes_of(visit, [each], MONDAY).products[0].amount for each in (crew, second_crew)
    )


def test_a_crew_whose_hands_are_not_calibrated_is_not_sent_where_only_that_tells(
    visits, crew, second_crew, stock, soap, owner
):
    soap.rates.update(gallons_per_1000_sq_ft=None)
    Technician.objects.filter(crew=crew).update(crew=None)

    plan = dispatch(owner, visits[:1])

    assert reasons(plan) == {"Library": "no-calibration"}


@pytest.fixture
def two_mixes(visits, town_hall, crew, stock):
    """Soap on the roses of one place and oil on those of the other, on the same day."""
    theirs = Visit.objects.filter(course__property=town_hall)
    theirs.get(rotation_week__week=1).delete()
    oiled = theirs.get(rotation_week__week=2)
    oiled.earliest = oiled.planned = oiled.latest = MONDAY
    oiled.save()
    return [visits[0], oiled]


def test_between_two_mixes_the_sprayer_is_rinsed_and_the_water_is_on_the_truck(
    two_mixes, sprayer, owner
):
    (route,) = dispatch(owner, two_mixes).dispatches

    kinds = [leg["kind"] for leg in route.legs if leg["kind"] not in ("travel", "wait", "lunch")]
    (rinse,) = (leg for leg in route.legs if leg["kind"] == "rinse")
    assert kinds == ["work", "rinse", "work"]
    # Three times a tenth of the tank of 4 gal [PURDUE-RINSE], beside 3 gal of spray for each place.
    assert (sprayer.tank_gallons, Decimal(rinse["gallons"])) == (4, Decimal("1.2"))
    assert route.water_gallons == Decimal("7.2")


def test_where_the_first_mix_is_not_made_the_sprayer_is_not_rinsed(two_mixes, owner):
    (route,) = dispatch(owner, two_mixes).dispatches
    first, second = route.visits.order_by("position")

    leave_route(first)

    assert "rinse" not in {leg["kind"] for leg in Dispatch.objects.get().legs}
    assert Dispatch.objects.get().water_gallons == 3
    assert Visit.objects.get(pk=second.pk).dispatch == route


def test_what_the_label_does_not_allow_on_a_planting_is_not_sent_out(
    visits, crew, stock, soap, owner
):
    soap.rates.update(minimum=Decimal(1), maximum=Decimal(2))  # the week asks 2.5

    plan = dispatch(owner, visits[:1])

    assert reasons(plan) == {"Library": "not-mixable"}


def test_when_a_stop_leaves_the_others_keep_their_hours_and_the_way_is_told_anew(
    visits, town_hall, crew, stock, owner
):
    (route,) = dispatch(owner, first_visits()).dispatches
    first, second = route.visits.order_by("position")

    leave_route(first)

    left = Dispatch.objects.get()
    stays = Visit.objects.get(pk=second.pk)
    (way, _back) = (leg for leg in left.legs if leg["kind"] == "travel")
    assert (stays.position, stays.version) == (1, second.version + 1)
    assert (stays.arrives_at, stays.leaves_at) == (second.arrives_at, second.leaves_at)
    assert datetime.fromisoformat(way["until"]) == second.arrives_at
    assert datetime.fromisoformat(way["from"]) == left.leaves_yard_at > route.leaves_yard_at
    assert left.returns_at == route.returns_at
    assert not any(leg.get("left") for leg in left.legs)


def test_the_day_and_the_sheet_say_that_a_stop_has_left(visits, crew, stock, owner, client):
    (route,) = dispatch(owner, visits[:1]).dispatches
    left = {"kind": "wait", "from": route.legs[1]["from"], "until": route.legs[1]["until"]}
    Dispatch.objects.update(legs=[{**left, "left": True}, *route.legs])

    client.force_login(owner)
    page = client.get(reverse("services:day", args=[MONDAY])).content.decode()
    notes = crew_day_of(Dispatch.objects.get()).notes
    assert "a stop has left the route" in page
    assert any(note.startswith("A stop has left the route: you wait from") for note in notes)


def test_soap_that_another_took_while_the_day_was_planned_is_not_taken_twice(
    visits, town_hall, crew, second_crew, stock, owner, monkeypatch
):
    stock.entries.create(kind="disposed", amount=-120, happened_at=DAWN, entered_by=owner)
    ours, theirs = first_visits()
    tuesday = MONDAY + timedelta(days=1)
    drafts = []

    def slow(*given):
        drafted = draft_day(*given)
        drafts.append(drafted)
        if len(drafts) == 1:
            dispatch(owner, [theirs], tuesday)  # between our draft and our writing
        return drafted

    monkeypatch.setattr("services.dispatching.days.draft_day", slow)

    plan = dispatch(owner, [ours])

    assert reasons(plan) == {"Library": "stock-short"}
    assert LoadLine.objects.get().dispatch.day == tuesday


@pytest.mark.servers
@pytest.mark.django_db(transaction=True)
def test_two_who_dispatch_at_once_do_not_take_the_same_soap(
    visits, town_hall, crew, second_crew, stock, owner
):
    if connection.vendor != "postgresql":
        pytest.skip("threads share no database in memory")
    stock.entries.create(kind="disposed", amount=-120, happened_at=DAWN, entered_by=owner)

    threads = [
        Thread(target=dispatch_and_close, args=(owner, [visit], MONDAY + timedelta(days=number)))
        for number, visit in enumerate(first_visits())
    ]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert LoadLine.objects.get().amount == Decimal("7.5")


def dispatch_and_close(owner, visits, day):
    dispatch(owner, visits, day)
    connection.close()

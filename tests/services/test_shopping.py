"""What the courses of six weeks lack, on the pages of the store and of the week."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
import time_machine

from services.dispatching import dispatch_day
from services.models import Visit
from services.shopping import wanted_from

MONDAY = date(2026, 7, 6)
DAWN = datetime(2026, 7, 6, 9, tzinfo=UTC)  # 05:00 at the yard


@pytest.fixture
def little_soap(visits, crew, stock, owner):
    """Eight fluid ounces of soap: one visit's worth, and two want it."""
    stock.entries.create(kind="disposed", amount=-120, happened_at=DAWN, entered_by=owner)
    return stock


def test_the_second_of_two_visits_lacks_what_one_lot_does_not_hold(little_soap):
    (line,) = wanted_from(MONDAY)

    # 600 sq ft at the label's 5 gal in 1,000 sq ft and 2.5 fl oz/gal are 7.5 fl oz, twice
    assert (line.product, line.amount) == (little_soap.product.name, 7)
    assert line.buy_by == date(2026, 7, 19)  # the third week is planned for the 20th


def test_what_is_on_a_truck_is_neither_wanted_nor_free(little_soap, visits, owner):
    dispatch_day(day=MONDAY, visits=visits[:1], by=owner, now=DAWN)

    (line,) = wanted_from(MONDAY)

    assert (line.amount, line.visits) == (7, 1)


@pytest.mark.parametrize(("days", "is_wanted"), [(42, True), (43, False)])
def test_six_weeks_are_looked_ahead(little_soap, visits, days, is_wanted):
    day = MONDAY + timedelta(days=days)
    Visit.objects.filter(pk=visits[2].pk).update(earliest=day, planned=day, latest=day)

    assert bool(wanted_from(MONDAY)) is is_wanted


def test_a_late_visit_is_counted_for_today(little_soap, visits):
    today = MONDAY + timedelta(days=14)

    assert wanted_from(today)[0].buy_by <= today


def test_store_and_week_say_what_to_buy(client, dispatcher, little_soap):
    client.force_login(dispatcher)

    with time_machine.travel(DAWN, tick=False):
        store = client.get("/store/").content.decode()
        this_week = client.get("/week/2026-W28/").content.decode()
        third_week = client.get("/week/2026-W30/").content.decode()

    assert "To be bought for the courses of the next six weeks" in store
    assert "To be bought by the end of this week" not in this_week
    assert "To be bought by the end of this week" in third_week


def test_without_a_shortage_nothing_is_said(client, dispatcher, visits, crew, stock):
    client.force_login(dispatcher)

    with time_machine.travel(DAWN, tick=False):
        assert "To be bought" not in client.get("/store/").content.decode()


def test_the_list_is_read_in_as_many_queries_for_many_visits(
    little_soap, town_hall, django_assert_max_num_queries
):
    assert Visit.objects.count() == 6
    with django_assert_max_num_queries(15):
        (line,) = wanted_from(MONDAY)
    assert line.amount == Decimal(22)  # four visits of 7.5 less the 8 that are there

"""What a visit costs and is charged: exact arithmetic against sums done by hand and by chance."""

from datetime import UTC, date, datetime, timedelta
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from services.rules.charging import (
    Charge,
    CostRate,
    CostRates,
    Drive,
    FallsOn,
    Kind,
    PricedBy,
    PriceRule,
    Taxable,
    TaxRate,
    ToCharge,
    Used,
    Work,
    cents,
    charge_of,
    cost_of,
    drives_of,
    price_that_counts,
    taxes_on,
)
from services.rules.charging.costs import LOT_HAS_NO_COST, METRES_A_MILE
from services.rules.charging.totals import total_of
from treatments.rules.findings import Marked

JANUARY, JULY = date(2026, 1, 1), date(2026, 7, 6)
VISIT = ToCharge(
    JULY,
    client=1,
    property=2,
    rotation=3,
    labour_minutes=Fraction(80),
    area_sq_ft=Decimal(630),
    product_cost=Decimal("1.09"),
)


def price(key, by=PricedBy.VISIT, amount="85", **reach):
    return PriceRule(key, by, Decimal(amount), **{"from_day": JANUARY, **reach})


# By hand: 80 min are 1 1/3 h at 48 USD; 0.63 x 32.50 = 20.475; 1.09 with 40 % on it = 1.526
@pytest.mark.parametrize(
    ("by", "amount", "charged", "kind"),
    [
        (PricedBy.VISIT, "85", "85.00", Kind.SERVICE),
        (PricedBy.HOUR, "48", "64.00", Kind.SERVICE),
        (PricedBy.AREA, "32.50", "20.48", Kind.SERVICE),
        (PricedBy.PRODUCT, "40", "1.53", Kind.PRODUCT),
    ],
)
def test_each_way_to_price_comes_to_what_a_hand_reckons(by, amount, charged, kind):
    told = charge_of(VISIT, [price(1, by, amount)])

    assert (str(told.amount), told.kind) == (charged, kind)


@pytest.mark.parametrize("by", [PricedBy.HOUR, PricedBy.AREA, PricedBy.PRODUCT])
def test_what_is_not_known_has_no_charge_and_says_why(by):
    told = charge_of(ToCharge(JULY, 1, 2, 3), [price(1, by)])

    assert told.amount is None
    assert told.why_not


def test_a_visit_of_which_no_rule_speaks_is_not_free():
    assert charge_of(VISIT, []).amount is None
    assert charge_of(VISIT, [price(1, client=9)]).amount is None


def test_the_most_particular_price_counts_whatever_their_order():
    rules = [
        price(1),
        price(2, rotation=3),
        price(3, client=1),
        price(4, client=1, rotation=3),
        price(5, property=2),
        price(6, property=2, rotation=3),
    ]

    for most in range(len(rules), 0, -1):
        for some in (rules[:most], rules[most - 1 :: -1]):
            assert price_that_counts(some, VISIT).key == most


def test_of_two_alike_the_newer_counts_from_its_day_on():
    rules = [price(1, amount="85"), price(2, amount="95", from_day=JULY)]

    assert price_that_counts(rules, VISIT).key == 2
    day_before = ToCharge(JULY - timedelta(days=1), 1, 2, 3)
    assert price_that_counts(rules, day_before).key == 1


@pytest.mark.parametrize(("until", "counts"), [(JULY, 2), (JULY - timedelta(days=1), 1)])
def test_a_price_that_ended_leaves_the_one_below_it(until, counts):
    rules = [price(1), price(2, client=1, until_day=until)]

    assert price_that_counts(rules, VISIT).key == counts


def test_what_a_client_accepted_comes_before_every_rule():
    agreed = ToCharge(JULY, 1, 2, 3, agreed=Decimal("70"))

    assert charge_of(agreed, [price(1)]) == Charge(Decimal("70.00"), is_agreed=True)


@given(st.decimals(-(10**6), 10**6, places=5))
def test_cents_round_as_decimal_rounds_half_up(amount):
    assert cents(amount) == amount.quantize(Decimal("0.01"), ROUND_HALF_UP)


def leg(kind, minutes, start=[0], **more):  # noqa: B006 - the clock goes on from leg to leg
    begins = datetime(2026, 7, 6, 8, tzinfo=UTC) + timedelta(minutes=start[0])
    start[0] += minutes
    ends = begins + timedelta(minutes=minutes)
    return {"kind": kind, "from": begins.isoformat(), "until": ends.isoformat(), **more}


def test_a_visit_bears_the_way_to_it_and_an_equal_part_of_the_way_home():
    route = [
        leg("travel", 10, metres=8000),
        leg("work", 30, visit=1),
        leg("travel", 20, metres=16000),
        leg("wait", 5),
        leg("work", 30, visit=2),
        leg("travel", 30, metres=24000),
    ]

    assert drives_of(route) == {
        1: Drive(Fraction(25 * 60), Fraction(20000)),
        2: Drive(Fraction(35 * 60), Fraction(28000)),
    }


def test_a_way_of_which_no_length_is_known_adds_none():
    route = [leg("travel", 10), leg("work", 30, visit=1)]

    assert drives_of(route) == {1: Drive(Fraction(10 * 60), Fraction(0))}


def test_a_stop_that_is_worked_at_twice_bears_both_ways():
    route = [
        leg("travel", 10, metres=8000),
        leg("work", 30, visit=1),
        leg("travel", 5, metres=4000),
        leg("refill", 10),
        leg("travel", 5, metres=4000),
        leg("work", 30, visit=1),
        leg("travel", 10, metres=8000),
    ]

    assert drives_of(route) == {1: Drive(Fraction(30 * 60), Fraction(24000))}


def test_what_is_done_beside_the_work_bears_no_way():
    route = [
        leg("travel", 10, metres=8000),
        leg("work", 30, visit=1),
        leg("rinse", 10, visit=1),
        leg("work", 5),
        leg("travel", 10, metres=8000),
    ]

    assert drives_of(route) == {1: Drive(Fraction(20 * 60), Fraction(16000))}


@pytest.mark.parametrize(
    ("figures", "amount", "known", "is_whole"),
    [
        ([], None, 0, True),
        ([None, None], None, 0, False),
        ([Decimal("1.50"), None], Decimal("1.50"), 1, False),
        ([Decimal("1.50"), Decimal("2.25")], Decimal("3.75"), 2, True),
        ([Fraction(1, 3), Decimal("0.50")], Fraction(5, 6), 2, True),
    ],
)
def test_a_sum_says_of_how_many_visits_it_is_known(figures, amount, known, is_whole):
    total = total_of(figures)

    assert (total.amount, total.known, total.visits) == (amount, known, len(figures))
    assert total.is_whole == is_whole


@given(st.lists(st.tuples(st.integers(0, 90), st.integers(0, 60000)), min_size=2, max_size=9))
def test_the_shares_of_a_route_are_the_route(ways):
    route = []
    for number, (minutes, metres) in enumerate(ways):
        route.append(leg("travel", minutes, metres=metres))
        if number < len(ways) - 1:
            route.append(leg("work", 20, visit=number))

    shares = drives_of(route).values()

    assert sum(each.metres for each in shares) == sum(metres for _, metres in ways)
    assert sum(each.minutes for each in shares) == sum(minutes for minutes, _ in ways)


def test_a_mile_is_that_of_the_handbook():
    # [NIST-HB44] 1 mile = 5280 feet, 1 foot = 0.3048 meter exactly
    assert 5280 * Fraction("0.3048") == METRES_A_MILE


RATES = CostRates(
    hour=(CostRate(Decimal(30), JANUARY),), mile=(CostRate(Decimal("0.70"), JANUARY),)
)
WORK = Work(2, datetime(2026, 7, 6, 18, tzinfo=UTC), datetime(2026, 7, 6, 18, 40, tzinfo=UTC))
DRIVE = Drive(Fraction(15 * 60), 10 * METRES_A_MILE)


def test_the_cost_of_a_visit_is_what_a_hand_reckons():
    # 80 min at 30 USD an hour = 40; two people 15 min = 15, ten miles = 7; 7.5 fl oz at 0.145
    soap = Used("soap", Fraction("7.5") * Fraction("0.145"))

    cost = cost_of(JULY, WORK, DRIVE, [soap], RATES)

    assert (cost.labour, cost.travel, cost.product) == (40, 22, Decimal("1.09"))
    assert cost.total() == Decimal("63.09")
    assert cost.unknown == ()


def test_ten_hours_on_the_way_are_ten_hours():
    # two people, ten hours, at 30 USD an hour
    cost = cost_of(JULY, WORK, Drive(Fraction(36_000), Fraction(0)), [], RATES)

    assert cost.travel == 600


@pytest.mark.parametrize(("from_day", "labour"), [(JULY, 80), (JULY + timedelta(days=1), 40)])
def test_the_newest_cost_counts_from_its_own_day_on(from_day, labour):
    # 80 minutes at 60 USD an hour, or at the 30 of before
    rates = CostRates((*RATES.hour, CostRate(Decimal(60), from_day)), RATES.mile)

    assert cost_of(JULY, WORK, DRIVE, [], rates).labour == labour


def test_a_product_without_a_cost_says_its_own_reason():
    told = cost_of(JULY, WORK, DRIVE, [Used("soap", None, Marked("because"))], RATES)
    silent = cost_of(JULY, WORK, DRIVE, [Used("soap", None)], RATES)

    assert told.unknown == ((Marked("because"), {"product": "soap"}),)
    assert silent.unknown == ((LOT_HAS_NO_COST, {"product": "soap"}),)


@pytest.mark.parametrize(
    ("work", "drive", "used", "rates"),
    [
        (Work(None, WORK.started_at, WORK.ended_at), DRIVE, [], RATES),
        (Work(2, None, WORK.ended_at), DRIVE, [], RATES),
        (WORK, None, [], RATES),
        (WORK, DRIVE, [Used("soap", None)], RATES),
        (WORK, DRIVE, [], CostRates(hour=RATES.hour)),
        (WORK, DRIVE, [], CostRates(mile=RATES.mile)),
        (WORK, DRIVE, [], CostRates(RATES.hour, (CostRate(Decimal(1), date(2026, 7, 7)),))),
    ],
)
def test_what_is_not_known_is_never_taken_as_nothing(work, drive, used, rates):
    cost = cost_of(JULY, work, drive, used, rates)

    assert cost.total() is None
    assert cost.unknown


def tax(key, percent, falls_on=FallsOn.BOTH, **more):
    told = {"name": "Sales tax", "place": "US-PA", "from_day": JANUARY, **more}
    return TaxRate(key=key, percent=Decimal(percent), falls_on=falls_on, **told)


def line(amount, kind=Kind.SERVICE, **more):
    told = {"day": JULY, "place": "US-PA", "county": "Bucks", **more}
    return Taxable(Decimal(amount), kind=kind, **told)


def amounts(due):
    return {each.rate.key: (str(each.base), str(each.amount)) for each in due}


def test_tax_is_reckoned_of_the_sum_and_rounded_once():
    # 3 x 10.05 = 30.15, of which 6 % are 1.809; line by line it would be 3 x 0.60 = 1.80
    assert amounts(taxes_on([line("10.05")] * 3, [tax(1, "6")])) == {1: ("30.15", "1.81")}


def test_a_tax_falls_on_what_it_falls_on():
    lines = [line("100"), line("10", Kind.PRODUCT)]
    rates = [
        tax(1, "6", FallsOn.PRODUCT, name="one"),
        tax(2, "2", FallsOn.SERVICE, name="two"),
        tax(3, "1", name="three", county="bucks"),
        tax(4, "9", name="four", county="Mercer"),
        tax(5, "9", name="five", place="US-NJ"),
    ]

    assert amounts(taxes_on(lines, rates)) == {
        1: ("10", "0.60"),
        2: ("100", "2.00"),
        3: ("110", "1.10"),
    }


def test_the_newest_row_of_a_tax_counts_from_its_day_on():
    rates = [tax(1, "6"), tax(2, "7", from_day=JULY)]
    lines = [line("100"), line("50", day=JULY - timedelta(days=1))]

    assert amounts(taxes_on(lines, rates)) == {1: ("50", "3.00"), 2: ("100", "7.00")}


def test_a_tax_that_was_taken_off_work_is_not_charged_by_its_older_row():
    rates = [tax(1, "6"), tax(2, "6", FallsOn.PRODUCT, from_day=JULY)]

    assert taxes_on([line("100")], rates) == []


def test_what_is_taken_back_takes_its_tax_back():
    charged = taxes_on([line("33.33")], [tax(1, "6.25")])
    back = taxes_on([line("-33.33")], [tax(1, "6.25")])

    assert charged[0].amount == -back[0].amount == Decimal("2.08")


@given(
    st.lists(st.decimals(-500, 500, places=2), max_size=20),
    st.lists(st.decimals(0, 20, places=4), max_size=4),
)
def test_each_tax_is_within_half_a_cent_of_the_exact_one(lines, percents):
    rates = [tax(key, percent, name=f"tax {key}") for key, percent in enumerate(percents)]

    due = taxes_on([line(amount) for amount in lines], rates)

    for each in due:
        exact = Fraction(sum(lines)) * Fraction(each.rate.percent) / 100
        assert abs(Fraction(each.amount) - exact) <= Fraction(1, 200)
    assert len(due) == (len(rates) if lines else 0)

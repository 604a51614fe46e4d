"""From a count to a composed course: proposed, looked ahead at, kept and put on; and why not."""

import re
from datetime import UTC, date, datetime, timedelta
from html import unescape

import pytest
from django.core.cache import cache

from services.courses import is_at_dusk
from services.models import Course
from tests.filling import forms_of, send
from tests.journeys.conftest import MONDAYS
from tests.journeys.test_least_first import counts_page, proposed, take_temperatures_in
from tests.journeys.test_week_three import do_week, said, scout, signed_in, text_of
from tests.shelf import keep_shelf
from treatments.models import Product, Rotation

pytestmark = pytest.mark.django_db

__all__ = ["signed_in"]  # a fixture that all journeys begin with

ADDRESS = "/rotations/propose/"
SIX_WEEKS = {
    "asked": "1",
    "weeks": "6",
    "nights_f": "67",
    "afternoons_f": "87",
    "rates": "lowest",
    "dusk_possible": "on",
    "may_buy": "on",
}
COOL = {"nights_f": "52", "afternoons_f": "70"}
MAY = datetime(2026, 5, 18, 12, tzinfo=UTC)  # a Monday; the roses bloom from the 20th on


def words(page):
    """Return the text of a page without its marks."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())


def plans_of(page):
    """Return the products of each plan, week by week."""
    parts = page.split('<details class="proposal"')[1:]
    named = r'<p class="what"><b>(?:<a [^>]+>)?([^<]+)<'
    return [re.findall(named, part.split('<form class="entry keep"')[0]) for part in parts]


def week_of(page, week):
    """Return what the first plan says of a week."""
    return words(page.split(f'id="week-1-{week}"')[1].split("<aside")[0])


def keep_first(browser, answer, name):
    """Keep the first plan of a page, and return the answer."""
    forms = [form for form in forms_of(answer) if "codes" in form["fields"]]
    return browser.post(ADDRESS, forms[0]["fields"] | {"name": name})


def looked_over(browser, page):
    """Follow the way from a kept rotation to its plantings, and look at what is said of it."""
    way = re.search(r'href="([^"]+)">Put it on plantings', said(page))[1]
    begun = browser.get(unescape(way))
    return send(browser, begun, "first_day", first_day=first_day_in(page))


def put_it_on(browser, page):
    """Look over a kept rotation on its plantings, and put it on them."""
    return send(browser, looked_over(browser, page), "looked_at")


def first_day_in(page):
    return page.request["QUERY_STRING"].split("from=")[1][:10]


@pytest.fixture
def owners(season, owner, signed_in):
    """The browser of the owner, who may compose."""
    return signed_in(owner)


@pytest.fixture
def shelf(season, owner):
    """The products to propose from; those of the other journeys are put away."""
    Product.objects.all().update(kind=Product.Kind.ADJUVANT)
    Product.objects.filter(name=season.mist.name).update(name="Another Mist")
    return keep_shelf(owner)


@pytest.fixture
def in_may(season, clock):
    """Stop the clock on a Monday two days before the roses open."""
    clock.move_to(MAY)
    cache.clear()


def asked_for(season, first_day, **more):
    """Return what is asked of the composer for the roses of the library."""
    return SIX_WEEKS | {
        "plantings": season.beds[0].pk,
        "pest": season.pest.pk,
        "first_day": first_day.isoformat(),
        **more,
    }


def test_mites_in_july_are_counted_composed_against_and_looked_ahead_at(season, owners, shelf):
    bed = season.beds[0]
    take_temperatures_in(owners)
    scout(owners, bed, season.pest)
    ladder = counts_page(owners, bed)
    assert "Soap or oil. 6 two-spotted spider mite are at or over" in proposed(ladder)

    composer = re.search(rf'href="({ADDRESS}\?[^"]+)"', ladder)[1]
    begun = owners.get(unescape(composer))
    assert 'name="afternoons_f" value="87"' in said(begun)  # as the station knows them
    answer = owners.get(ADDRESS, asked_for(season, MONDAYS[0].date()))
    plans = plans_of(said(answer))
    assert len({tuple(plan) for plan in plans}) == 3

    kept = keep_first(owners, answer, "Mites in July")
    looked = looked_over(owners, owners.get(kept["Location"]))
    assert "never a promise" in said(looked)  # the curve stands there before it is put on
    send(owners, looked, "looked_at")

    course = Course.objects.get(rotation__name="Mites in July")
    weeks = course.rotation.weeks.order_by("week")
    assert [week.product.name for week in weeks] == [name for name in plans[0] if name in shelf]
    looked_ahead_at(owners, course)
    slipped(owners, course)


def looked_ahead_at(browser, course):
    """The curve of the plan stands beside the one that comes five days late, which is worse."""
    address = f"/courses/{course.pk}/"
    planned = said(browser.get(address))
    what_if = {"week": "3", "change": "slip", "days": "5", "later_too": "on"}
    otherwise = said(browser.get(address, what_if))

    assert "<svg" in planned
    assert "Otherwise on" not in planned
    assert "Otherwise on" in otherwise
    assert float(re.search(r"about ([\d.]+) times the mite-days", otherwise)[1]) > 1
    assert "never a promise" in otherwise


def slipped(browser, course):
    """The later weeks move along with a week that is moved, each as far as its days allow."""
    third, fourth = course.visits.filter(rotation_week__week__in=(3, 4)).order_by("planned")
    later = third.planned + timedelta(days=2)

    send(browser, browser.get(f"/visits/{third.pk}/move/"), "day", day=later.isoformat())

    moved = course.visits.get(pk=third.pk)
    assert moved.planned == later
    assert course.visits.get(pk=fourth.pk).planned == fourth.planned + timedelta(days=2)


def test_the_client_is_handed_the_curve_on_paper(
    season, owners, shelf, signed_in, dispatcher, clock
):
    scout(owners, season.beds[0], season.pest)
    answer = owners.get(ADDRESS, asked_for(season, MONDAYS[0].date()))
    kept = keep_first(owners, answer, "Mites in July")
    put_it_on(owners, owners.get(kept["Location"]))
    do_week(signed_in, dispatcher, clock, season, 1)
    visit = Course.objects.get().visits.get(rotation_week__week=1)

    paper = text_of(owners.get(f"/visits/{visit.pk}/summary.pdf"))

    assert "two-spotted spider mite on 12 of 20 leaves; that is why we treat" in paper
    # what stands on and under the drawing: the threshold, the days, the groups of the weeks
    assert "act at 5" in paper
    assert re.search(r"Jun 29 Jul 13 Jul 27 Aug 10 .* UNM", paper)
    assert "Counts and treatments: Rose bed." in paper


def test_a_wish_that_cannot_be_is_freed_by_the_one_that_stands_in_the_way(
    season, owners, shelf, api, owner
):
    season.beds[0].drought_stressed = True  # so that the only organic product, an oil, is warned of
    season.beds[0].save()
    wishes = {"weeks": "4", "organic_only": "on", "without_warnings": "on"}

    page = said(owners.get(ADDRESS, asked_for(season, MONDAYS[0].date(), **wishes)))
    conflict = page.split('class="minded conflict"')[1].split("</div>")[0]
    freeing = [words(each) for each in re.findall(r"<a [^>]+>(.*?)</a>", conflict, re.S)]

    assert plans_of(page) == []
    assert "give up “organic products only”" in freeing
    assert not any("label" in each or "certificate" in each for each in freeing)
    way = re.search(r'<a class="act" href="([^"#]+)', conflict)[1]
    freed = plans_of(said(owners.get(ADDRESS + unescape(way))))
    assert freed
    assert not any("Still Oil" in plan for plan in freed)
    the_same_is_told_to_programs(season, api, owner)


def the_same_is_told_to_programs(season, api, owner):
    api.force_authenticate(owner)
    told = {
        "plantings": [season.beds[0].pk],
        "pest": season.pest.pk,
        "first_day": MONDAYS[0].date().isoformat(),
        "weeks": 4,
        "nights_f": "67",
        "afternoons_f": "87",
        "wishes": {"organic_only": True, "without_warnings": True},
    }

    conflict = api.post("/api/v1" + ADDRESS, told, format="json").data["conflict"]

    assert ["organic wish"] in conflict["freed_by"]
    assert not {"label", "totals", "certificate"} & {
        wish for freeing in conflict["freed_by"] for wish in freeing
    }


def forbid(product, rule):
    Product.objects.filter(pk=product.pk).update(bloom_rule=rule)


def test_in_may_what_bees_forbid_by_day_is_put_off_to_dusk(season, owners, shelf, in_may):
    # [EPA-BEES] not while bees forage: the roses bloom from May 20, so from week two on
    mist = shelf["Slow Mist"]
    forbid(mist, "not while bees forage")
    fixed = {"pin": f"2:{mist.pk}"}

    answer = owners.get(ADDRESS, asked_for(season, MAY.date(), **COOL, **fixed))
    assert "dusk" in week_of(said(answer), 2)
    kept = keep_first(owners, answer, "Mites in May")
    put_it_on(owners, owners.get(kept["Location"]))

    second = Course.objects.get().visits.get(rotation_week__week=2)
    assert second.planned == date(2026, 5, 25)
    assert second.rotation_week.product == mist
    assert is_at_dusk(second, second.planned)


def test_in_may_where_nobody_can_go_at_dusk_another_product_is_taken(season, owners, shelf, in_may):
    forbid(shelf["Slow Mist"], "not while bees forage")
    forbid(shelf["Last Word"], "not in bloom")
    by_day = asked_for(season, MAY.date(), **COOL)
    del by_day["dusk_possible"]

    page = said(owners.get(ADDRESS, by_day))

    for plan in plans_of(page):
        assert not {"Slow Mist", "Last Word"} & set(plan[1:5])  # the bloom lasts until June 15
    why = said(owners.get(ADDRESS, by_day | {"plan": "1", "why": "2"}))
    table = words(why.split('id="why-1-2"')[1].split("</table>")[0])
    assert "the label of Slow Mist forbids that while they forage" in table
    assert "the label of Last Word forbids that" in table


def test_a_label_against_bloom_is_never_offered_for_giving_up(season, owners, shelf, in_may):
    for product in shelf.values():
        forbid(product, "not in bloom")

    page = said(owners.get(ADDRESS, asked_for(season, MAY.date())))

    assert plans_of(page) == []
    assert "No rotation keeps all of this" in page
    conflict = page.split('class="minded conflict"')[1].split("</div>")[0]
    assert "give up “label" not in words(conflict)
    assert Rotation.objects.count() == 0

"""The page on which rotations are proposed, changed and kept."""

import re
from datetime import UTC, date, datetime
from decimal import Decimal
from html import unescape

import pytest
import time_machine

from clients.models import Planting
from services.models import Course
from tests.shelf import keep_shelf
from treatments.models import Product, Rotation, WeatherStation
from treatments.scouting import record_count
from treatments.weather import enter_day

ADDRESS = "/rotations/propose/"


@pytest.fixture(autouse=True)
def july():
    """Stop the clock on a Thursday in July."""
    with time_machine.travel(datetime(2026, 7, 2, 14, tzinfo=UTC), tick=False):
        yield


@pytest.fixture
def shelf(owner):
    """An oil and four miticides in the store."""
    return keep_shelf(owner)


@pytest.fixture
def query(rose_bed, spider_mite, applicator):
    """What is asked for: six weeks from the next Monday."""
    return {
        "asked": "1",
        "plantings": [rose_bed.pk],
        "pest": spider_mite.pk,
        "first_day": "2026-07-06",
        "weeks": "6",
        "nights_f": "68",
        "afternoons_f": "68",
        "rates": "lowest",
        "dusk_possible": "on",
        "may_buy": "on",
    }


def page_of(client, query):
    answer = client.get(ADDRESS, query)
    assert answer.status_code == 200
    return answer.content.decode()


def words(page):
    """Return the text of a page without its marks."""
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", page)).split())


def products_of(page, plan=1):
    """Return the products of a plan, week by week."""
    part = page.split(f'id="plan-{plan}"')[1].split("</details>")[0]
    return re.findall(r'<p class="what"><b>(?:<a [^>]+>)?([^<]+)<', part)


def link(page, text, week, plan=1):
    """Return the address behind a link of a week."""
    row = page.split(f'id="week-{plan}-{week}"')[1].split("<aside")[0]
    found = re.search(rf'<a href="([^"#]+)[^"]*"[^>]*>{text}</a>', row)
    return ADDRESS + unescape(found[1])


def form_of(page, plan=1):
    """Return what the form under a plan sends."""
    part = page.split(f'id="plan-{plan}"')[1].split('<form class="entry keep"')[1]
    part = part.split("</form>")[0]
    sent = {}
    for name, value in re.findall(r'name="([^"]+)"[^>]* value="([^"]*)"', part):
        sent.setdefault(name, []).append(unescape(value))
    sent.pop("csrfmiddlewaretoken", None)
    return sent


def test_a_stranger_is_asked_to_sign_in(client, query):
    assert client.get(ADDRESS, query).status_code == 302


def test_a_technician_has_nothing_proposed(client, technician, query):
    client.force_login(technician)

    assert client.get(ADDRESS, query).status_code == 403


def test_the_office_looks_and_keeps_a_draft(client, dispatcher, query, shelf):
    client.force_login(dispatcher)

    page = page_of(client, query)

    assert "Keep this rotation" in page
    assert client.post(ADDRESS, query).status_code != 403


def test_prices_are_shown_to_the_office_and_to_no_applicator(
    client, dispatcher, applicator, query, shelf
):
    shown = {}
    for person in (dispatcher, applicator.user):
        client.force_login(person)
        shown[person] = client.get(ADDRESS, query).content.decode()

    office, field = shown.values()
    money = ("Cost of products", " USD")
    assert [words in office for words in money] == [True, True]
    assert [words in field for words in money] == [False, False]


def test_the_form_begins_with_what_the_address_names(client, owner, rose_bed, spider_mite):
    client.force_login(owner)

    page = page_of(client, {"plantings": rose_bed.pk, "pest": spider_mite.pk})

    assert f'<option value="{rose_bed.pk}" selected>' in page
    assert f'<option value="{spider_mite.pk}" selected>' in page


def test_the_nearest_station_fills_in_the_temperatures(client, owner, rose_bed):
    place = rose_bed.property
    station = WeatherStation.objects.create(
        name="Lock", latitude=place.latitude, longitude=place.longitude
    )
    for day in range(1, 8):
        enter_day(
            station=station,
            day=date(2026, 7, day),
            minimum_f=Decimal(71),
            maximum_f=Decimal(93),
        )
    client.force_login(owner)

    page = page_of(client, {"plantings": rose_bed.pk})

    assert 'name="nights_f" value="71"' in page
    assert 'name="afternoons_f" value="93"' in page


def test_three_rotations_stand_one_under_the_other_the_first_one_open(client, owner, query, shelf):
    client.force_login(owner)

    page = page_of(client, query)

    assert page.count('<details class="proposal"') == 3
    assert 'id="plan-1" open' in page
    assert 'id="plan-2" open' not in page
    assert "6 visits" in words(page)
    assert "USD" in words(page)


def test_a_week_is_fixed_left_out_and_freed_by_links(client, owner, query, shelf):
    client.force_login(owner)
    page = page_of(client, query)
    second = products_of(page)[1]

    page = client.get(link(page, "Fix it", 2)).content.decode()
    assert "fixed" in words(page.split('id="week-1-2"')[1].split("<aside")[0])
    page = client.get(link(page, "Leave the week out", 4)).content.decode()

    assert products_of(page)[1] == second
    assert products_of(page)[3] == "no visit"
    page = client.get(link(page, "Free it", 4)).content.decode()
    assert "no visit" not in products_of(page)[:-1]  # after the last day nothing is due


def test_why_not_another_product_is_said_and_another_one_taken(client, owner, query, shelf):
    client.force_login(owner)
    page = page_of(client, query)

    page = client.get(link(page, "Swap it, or see why not", 3)).content.decode()
    table = page.split('id="why-1-3"')[1].split("</table>")[0]

    assert all(name in table for name in shelf)
    assert "It is what is proposed." in table
    take = re.search(r'>([^<>]+)<small><a href="([^"#]+)', table)
    page = client.get(ADDRESS + unescape(take[2])).content.decode()
    assert products_of(page)[2] == take[1]


def test_what_bars_a_product_is_said_with_its_source(client, owner, query, shelf):
    Product.objects.filter(name="Young Stop").update(bloom_rule="not in bloom")
    Planting.objects.update(bloom_start="07-01", bloom_end="07-31", attracts_bees=True)
    client.force_login(owner)

    page = page_of(client, query | {"plan": "1", "why": "1"})

    table = words(page.split('id="why-1-1"')[1].split("</table>")[0])
    assert "Kept out of this week" in table
    assert "the label" in table.split("Kept out of this week")[1]


def test_a_wish_that_cannot_be_is_explained_with_the_one_that_frees_it(client, owner, query, shelf):
    Planting.objects.update(drought_stressed=True)
    client.force_login(owner)

    page = page_of(client, query | {"weeks": 4, "organic_only": "on", "without_warnings": "on"})

    assert "No rotation keeps all of this" in page
    assert "give up “organic products only”" in words(page)
    freeing = re.search(r'<a class="act" href="([^"#]+)', page.split('class="minded')[1])
    page = client.get(ADDRESS + unescape(freeing[1])).content.decode()
    assert '<details class="proposal"' in page


def test_a_wish_given_up_can_be_wished_again(client, owner, query, shelf):
    client.force_login(owner)

    page = page_of(client, query | {"given_up": "eggs"})

    assert "Given up: eggs reached in time." in page
    assert "given_up=eggs" not in page.split("Given up")[1].split("Wish it again")[0]


def test_a_label_is_never_given_up(client, owner, query, shelf):
    Product.objects.update(maximum_applications_per_year=0)
    client.force_login(owner)

    page = page_of(client, query | {"given_up": "totals"})

    assert "No rotation keeps all of this" in page


def test_wrong_input_keeps_what_was_typed(client, owner, query, shelf):
    client.force_login(owner)

    answer = client.get(ADDRESS, query | {"weeks": "27", "nights_f": "90", "first_day": "soon"})

    page = answer.content.decode()
    assert answer.status_code == 422
    assert 'value="27"' in page
    assert 'value="soon"' in page
    assert "Days are warmer than nights." in page


@pytest.mark.parametrize(("weeks", "status"), [(2, 422), (3, 200), (26, 200), (27, 422)])
def test_three_to_twenty_six_weeks_are_proposed(client, owner, query, shelf, weeks, status):
    client.force_login(owner)

    assert client.get(ADDRESS, query | {"weeks": weeks}).status_code == status


def test_weeks_that_are_over_are_not_asked_for(client, owner, query, shelf):
    client.force_login(owner)

    answer = client.get(ADDRESS, query | {"first_day": "2026-05-04"})

    assert answer.status_code == 422
    assert "All these weeks are over." in answer.content.decode()


def test_plantings_of_different_sites_are_not_mixed(client, owner, query, shelf, library):
    hedge = Planting.objects.create(
        property=library,
        name="Hedge",
        common_name="yew",
        species="Taxus",
        plant_group="conifer",
        habit="hedge",
        length_ft=Decimal(20),
        width_ft=Decimal(3),
    )
    client.force_login(owner)

    answer = client.get(ADDRESS, query | {"plantings": [*query["plantings"], hedge.pk]})

    assert answer.status_code == 422
    assert "of different sites" in answer.content.decode()


def test_few_visits_need_to_know_how_far_apart(client, owner, query, shelf):
    client.force_login(owner)
    # below 50 F no mite develops [CANENT-1981], so eggs say nothing of how far apart
    asked = query | {"fewest_visits": "on", "nights_f": "40", "afternoons_f": "48"}

    assert client.get(ADDRESS, asked).status_code == 422
    page = page_of(client, asked | {"visit_reach_days": "14"})

    assert products_of(page).count("no visit") == 3


def test_without_temperatures_few_visits_come_within_a_week_of_each_other(
    client, owner, query, shelf
):
    client.force_login(owner)

    page = page_of(client, query | {"fewest_visits": "on", "nights_f": "", "afternoons_f": ""})

    assert "By common practice a visit follows within 7 days" in words(page)
    assert "no visit" not in products_of(page)[:-1]  # after the last day nothing is due


def test_nonsense_in_the_address_does_no_harm(client, owner, query, shelf):
    client.force_login(owner)
    nonsense = {"pin": ["x", "99:3", "²:1", "1:²"], "plan": "²", "why": "-1", "given_up": "sun"}

    assert client.get(ADDRESS, query | nonsense).status_code == 200
    assert client.get(ADDRESS, {"plantings": "²", "pest": "x"}).status_code == 200


def test_without_products_the_page_says_so(client, owner, query):
    client.force_login(owner)

    assert "No product of the book may be proposed" in page_of(client, query)


def test_a_warning_is_kept_with_a_reason(client, owner, query, shelf):
    Planting.objects.update(drought_stressed=True)
    client.force_login(owner)
    oil = Product.objects.get(name="Still Oil").pk
    sent = form_of(page_of(client, query | {"pin": f"1:{oil}"}))

    answer = client.post(ADDRESS, sent)
    page = answer.content.decode()
    asked_for = re.findall(r'<textarea id="(reason-[^"]+)"', page)
    assert (answer.status_code, bool(asked_for)) == (422, True)
    answer = client.post(ADDRESS, form_of(page) | dict.fromkeys(asked_for, "Watered on Sunday."))

    assert answer.status_code == 302
    assert Rotation.objects.get().accepted_warnings.exists()


def test_a_name_is_kept_once(client, owner, query, shelf):
    client.force_login(owner)
    sent = form_of(page_of(client, query)) | {"name": "Mites in July"}

    assert client.post(ADDRESS, sent).status_code == 302
    again = client.post(ADDRESS, sent)

    assert again.status_code == 422
    assert 'value="Mites in July"' in again.content.decode()
    assert Rotation.objects.count() == 1


def test_more_weeks_ask_as_often(client, owner, query, shelf, count_queries):
    client.force_login(owner)

    few, many = (count_queries(ADDRESS, **query | {"weeks": weeks}) for weeks in (3, 12))

    assert few == many


def test_mites_scouted_in_july_lead_to_a_course(
    client, applicator, query, shelf, rose_bed, spider_mite
):
    record_count(
        planting=rose_bed,
        pest=spider_mite,
        scouted_at=datetime(2026, 7, 2, 13, tzinfo=UTC),
        scouted_by=applicator.user,
        leaves_looked_at=20,
        leaves_infested=12,
        adults=140,
    )
    client.force_login(applicator.user)

    place = client.get(f"/properties/{rose_bed.property_id}/").content.decode()
    assert f"?plantings={rose_bed.pk}&amp;pest={spider_mite.pk}" in place
    page = page_of(client, query)
    page = client.get(link(page, "Fix it", 1)).content.decode()
    page = client.get(link(page, "Leave the week out", 5)).content.decode()
    kept = client.post(ADDRESS, form_of(page) | {"name": "Mites in July"})
    rotation = Rotation.objects.get(name="Mites in July")
    assert kept["Location"].startswith(f"/rotations/{rotation.pk}/?from=2026-07-06")
    page = client.get(kept["Location"]).content.decode()
    assert f"?rotation={rotation.pk}&amp;planting={rose_bed.pk}" in page
    sent = {
        "rotation": rotation.pk,
        "plantings": [rose_bed.pk],
        "first_day": "2026-07-06",
    }
    look = client.post("/courses/new/", sent).content.decode()
    seen = dict(re.findall(r'type="hidden" name="(?!csrf)([^"]+)" value="([^"]*)"', look))
    client.post("/courses/new/", sent | seen)

    visits = Course.objects.get(rotation=rotation).visits.order_by("planned")
    days = [visit.planned for visit in visits]
    assert days == [date(2026, 7, day) for day in (6, 13, 20, 27)] + [date(2026, 8, 10)]


def test_one_table_shows_every_product_in_every_week(client, owner, query, shelf):
    client.force_login(owner)
    page = page_of(client, query)
    address = re.search(r'<a href="([^"#]+)#whys-1"', page)[1]

    page = client.get(ADDRESS + unescape(address)).content.decode()

    table = page.split('id="whys-1"')[1].split("</table>")[0]
    assert table.count('<th scope="row">') == len(shelf)
    assert table.count("<td ") == 6 * len(shelf)
    assert table.count('<td class="proposed">') == 6


def test_a_word_of_the_table_opens_its_whole_sentence(client, owner, query, shelf):
    Product.objects.filter(name="Young Stop").update(bloom_rule="not in bloom")
    Planting.objects.update(bloom_start="07-01", bloom_end="07-10", attracts_bees=True)
    client.force_login(owner)

    page = page_of(client, query | {"plan": "1", "why": "all"})

    row = page.split('id="whys-1"')[1].split(">Young Stop</th>")[1].split("</tr>")[0]
    first = row.split("</td>")[0]
    assert '<td class="kept_out"><details' in first
    assert "bloom</summary>" in first
    assert "the label" in words(first)


def test_where_there_is_no_rotation_the_table_shows_what_is_kept_out(client, owner, query, shelf):
    Product.objects.update(maximum_applications_per_year=0)
    client.force_login(owner)

    page = page_of(client, query)

    table = page.split('class="ruled whys"')[1].split("</table>")[0]
    assert table.count("year’s limit</summary>") == 6 * len(shelf)


def test_the_table_asks_the_book_no_more_often(client, owner, query, shelf, count_queries):
    client.force_login(owner)

    plain = count_queries(ADDRESS, **query)
    table = count_queries(ADDRESS, **query | {"plan": "1", "why": "all"})

    assert table == plain


@pytest.fixture
def with_range(shelf):
    """An oil whose label gives one to two fluid ounces a gallon."""
    return shelf["Still Oil"]


def test_a_rate_within_the_label_is_typed_and_all_composed_anew(client, owner, query, with_range):
    client.force_login(owner)
    oil = {"pin": f"1:{with_range.pk}"}

    page = page_of(client, query | oil | {f"rate-{with_range.pk}": "1.5"})

    first = words(page.split('id="week-1-1"')[1].split("<aside")[0])
    assert "1.5 fl oz/gal" in first
    assert "as you chose; the label gives 1 to 2" in first


def test_a_rate_above_the_label_is_not_taken_and_what_was_typed_stays(
    client, owner, query, with_range
):
    client.force_login(owner)

    page = page_of(client, query | {f"rate-{with_range.pk}": "3"})

    rates = page.split('id="rates"')[1].split("</details>")[0]
    assert 'value="3"' in rates
    assert "gives 1 to 2 fl oz/gal; 3 is not taken." in words(rates)


def test_a_heavy_count_proposes_the_highest_rate_and_says_why(
    client, owner, query, with_range, rose_bed, spider_mite
):
    spider_mite.threshold = 5
    spider_mite.save()
    record_count(
        planting=rose_bed,
        pest=spider_mite,
        scouted_at=datetime(2026, 7, 1, 14, tzinfo=UTC),
        scouted_by=owner,
        leaves_looked_at=10,
        leaves_infested=10,
        nymphs=60,
        adults=60,
    )
    client.force_login(owner)
    asked = query | {"rates": "by count", "pin": f"1:{with_range.pk}"}

    first = words(page_of(client, asked).split('id="week-1-1"')[1].split("<aside")[0])

    assert "2 fl oz/gal" in first
    assert "the last count is 2.4 times the threshold" in first

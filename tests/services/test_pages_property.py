"""The page of a property: what is minded, what grows, what was applied, what comes."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from xml.etree import ElementTree

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from clients.models import Planting
from services.charting import in_square, season_of, shape_of
from services.models import Dispatch, Visit
from services.showing.place import Year, histories_of, place_shown
from treatments.judging import judged
from treatments.models import ScoutingCount
from treatments.recording import record_application

MONDAY = date(2026, 7, 6)
EVENING = datetime(2026, 7, 6, 22, tzinfo=UTC)


@pytest.fixture
def counted(rose_bed, spider_mite):
    """Two counts: 6 living mites a leaf on 29 June, and 3 on the day of the first visit."""
    for day, adults in ((datetime(2026, 6, 29, 15, tzinfo=UTC), 120), (EVENING, 60)):
        ScoutingCount.objects.create(
            planting=rose_bed,
            pest=spider_mite,
            scouted_at=day,
            leaves_looked_at=20,
            leaves_infested=12,
            eggs=400,
            adults=adults,
        )
    return rose_bed


@pytest.fixture
def address(library):
    """The address of the library's page."""
    return reverse("services:property", args=[library.pk])


@pytest.fixture
def gated(library):
    """The library behind a gate with a code."""
    library.gate_code = "4711"
    library.save()
    return library


def season(planting, pest, **given):
    nothing = {"counts": [], "records": [], "visits": [], "today": MONDAY}
    return season_of(planting, pest, **nothing | given)


def test_the_page_begins_with_what_must_be_minded(client, owner, library, address):
    library.bees, library.kitchen_garden, library.garden_distance_ft = True, True, 40
    library.save()
    client.force_login(owner)
    page = client.get(address).content.decode()

    assert "Bee hives" in page
    assert "Kitchen garden, 40 ft away" in page
    assert page.index("To be minded here") < page.index("What comes")


def test_where_nothing_was_noted_the_page_says_to_look_around(client, owner, address):
    client.force_login(owner)

    assert "Ask and look around" in client.get(address).content.decode()


def test_counts_are_living_pests_a_leaf_without_eggs(counted, spider_mite):
    drawn = season(counted, spider_mite, counts=list(counted.counts.all()))

    # 120 adults on 20 leaves are 6 a leaf; the 400 eggs are not counted
    assert [(each.day.day, each.value) for each in drawn.counts] == [
        (29, Decimal("6.0")),
        (6, Decimal("3.0")),
    ]
    assert drawn.threshold == 5


def test_bloom_is_a_band_from_its_first_to_its_last_day(counted, spider_mite):
    counted.bloom_start, counted.bloom_end = "06-25", "07-10"
    drawn = season(counted, spider_mite, counts=list(counted.counts.all()))

    # the season is shown from a week before the first count to a week after the last
    assert (drawn.first, drawn.last) == (date(2026, 6, 22), date(2026, 7, 13))
    assert [(each.first, each.last) for each in drawn.spans] == [
        (date(2026, 6, 25), date(2026, 7, 10))
    ]


@pytest.mark.parametrize(
    ("start", "end", "bands"),
    [("12-20", "06-22", 1), ("07-13", "07-20", 1), ("07-14", "07-20", 0), ("", "", 0)],
)
def test_bloom_is_shown_where_it_touches_the_season(counted, spider_mite, start, end, bands):
    counted.bloom_start, counted.bloom_end = start, end
    drawn = season(counted, spider_mite, counts=list(counted.counts.all()))

    assert len(drawn.spans) == bands


def test_a_treatment_stands_with_its_band_of_keeping_off(stated, counted, spider_mite):
    record_application(**stated)
    records = list(counted.applications.all())
    drawn = season(counted, spider_mite, records=records)
    band = drawn.spans[-1]

    # done at 18:40 on Monday; 12 hours later is Tuesday morning
    assert [(each.product, each.applied) for each in drawn.treatments] == [("Quiet Soap", True)]
    assert (band.first, band.last) == (MONDAY, MONDAY + timedelta(days=1))


@pytest.mark.parametrize(
    ("groups", "shown"),
    [("", ""), ("10A", "10A"), ("UNM + FRAC NC", "UNM+"), ("FRAC M2", "M2")],
)
def test_a_mode_of_action_fits_into_its_square(groups, shown):
    assert in_square(groups) == shown


def test_keeping_off_for_some_hours_of_the_day_is_no_band(stated, counted, soap, spider_mite):
    soap.reentry_hours = Decimal(4)
    soap.save()
    record_application(**stated)  # done at 18:40, so until 22:40 of the same day
    drawn = season(counted, spider_mite, records=list(counted.applications.all()))

    assert not drawn.spans


def test_what_is_planned_is_drawn_open(visits, counted, spider_mite):
    drawn = season(counted, spider_mite, visits=visits)

    assert [each.applied for each in drawn.treatments] == [False] * 3
    assert [each.product for each in drawn.treatments] == ["Quiet Soap", "Still Oil", "Quiet Soap"]


def test_a_hedge_is_drawn_with_the_sides_that_are_sprayed(rose_bed):
    rose_bed.habit, rose_bed.faces, rose_bed.top_treated = "hedge", 1, True

    assert shape_of(rose_bed).faces == ("front", "top")


def test_what_comes_is_listed_in_order_of_its_days(library, visits, done_visit):
    shown = place_shown(library, MONDAY)

    assert [visit.week for visit in shown.coming] == [2, 3]
    assert len(shown.open_courses()) == 1


def test_the_page_holds_counts_records_and_courses(client, owner, counted, stated, visits, address):
    record = record_application(**stated)
    client.force_login(owner)
    page = client.get(address).content.decode()

    assert "Counts of two-spotted spider mite as a table" in page
    assert reverse("treatments:record", args=[getattr(record, "record", record).number]) in page
    assert "Mites on roses" in page
    assert reverse("treatments:new_count", args=[counted.pk]) in page


@pytest.mark.parametrize("name", ["property_plan", "season_chart"])
def test_a_drawing_by_itself_is_an_image(client, owner, counted, spider_mite, name):
    keys = [counted.property_id] if name == "property_plan" else [counted.pk, spider_mite.pk]
    client.force_login(owner)
    answer = client.get(reverse(f"services:{name}", args=keys))

    assert answer["Content-Type"] == "image/svg+xml"
    assert ElementTree.fromstring(answer.content).tag.endswith("svg")  # noqa: S314


def test_a_property_without_plantings_has_no_plan(client, owner, library):
    client.force_login(owner)

    assert client.get(reverse("services:property_plan", args=[library.pk])).status_code == 404


def test_a_technician_finds_only_todays_and_tomorrows_properties(
    client, technician, dispatched, on_monday, address
):
    client.force_login(technician)

    assert client.get(address).status_code == 404

    Dispatch.objects.filter(pk=dispatched.dispatch_id).update(day=MONDAY + timedelta(days=1))
    assert client.get(address).status_code == 200


@pytest.mark.parametrize(("day", "is_seen"), [(MONDAY, True), (date(2026, 7, 7), False)])
def test_the_gate_code_is_shown_to_the_crew_on_its_day_only(
    client, technician, dispatched, gated, on_monday, address, day, is_seen
):
    Dispatch.objects.filter(pk=dispatched.dispatch_id).update(day=day)
    client.force_login(technician)

    assert ("4711" in client.get(address).content.decode()) is is_seen


def test_the_office_always_sees_the_gate_code_and_an_applicator_not(
    client, dispatcher, applicator, gated, on_monday, address
):
    client.force_login(dispatcher)
    assert "4711" in client.get(address).content.decode()

    client.force_login(applicator.user)
    assert "4711" not in client.get(address).content.decode()


def test_an_unknown_property_is_not_found_and_a_stranger_signs_in(client, owner, address):
    assert client.get(address).url.startswith("/accounts/login/")

    client.force_login(owner)

    assert client.get(reverse("services:property", args=[9999])).status_code == 404


def test_an_inspector_sees_no_property(client, inspector, address):
    client.force_login(inspector)

    assert client.get(address).status_code == 403


def test_the_page_takes_as_many_queries_for_two_plantings_as_for_one(
    queries_of, counted, visits, address, on_monday
):
    first = queries_of(address)
    course = visits[0].course
    counted.pk, counted.name = None, "Second bed"
    counted.save(force_insert=True)
    course.plantings.add(counted)

    assert Visit.objects.count() == 3
    assert queries_of(address) == first


@pytest.fixture
def years_ago(counted, spider_mite, stated, applicator):
    """A record, and a count two years before those of this season."""
    record_application(**stated)
    ScoutingCount.objects.create(
        planting=counted,
        pest=spider_mite,
        scouted_at=datetime(2024, 6, 10, 15, tzinfo=UTC),
        leaves_looked_at=20,
        leaves_infested=7,
        eggs=0,
        adults=33,
    )
    return counted


def test_the_page_shows_the_latest_year_and_leads_to_the_earlier_ones(
    client, owner, years_ago, address, on_monday
):
    client.force_login(owner)
    page = client.get(address).content.decode()
    earlier = client.get(address, {"until": "2024-06-11"}).content.decode()

    assert "12 of 20" in page
    assert "7 of 20" not in page
    assert f'href="{address}?until=2024-06-11"' in page
    assert "7 of 20" in earlier
    assert "12 of 20" not in earlier
    assert "Quiet Soap" not in earlier
    assert f'href="{address}?until=' not in earlier
    assert "New count" not in earlier


def test_a_year_without_anything_says_so(client, owner, years_ago, address, on_monday):
    client.force_login(owner)

    told = [client.get(address, {"until": day}).content for day in ("2023-06-11", "2024-06-11")]

    assert [b"Nothing was done here" in page for page in told] == [True, False]


def test_an_earlier_year_shows_its_records(client, owner, years_ago, address):
    with time_machine.travel("2028-03-01T16:00:00Z"):
        client.force_login(owner)
        now = client.get(address).content.decode()
        then = client.get(address, {"until": "2026-07-07"}).content.decode()

    assert "What was applied" not in now
    assert f'href="{address}?until=2026-07-07"' in now
    assert "Quiet Soap" in then
    assert "6.0" in then  # living mites a leaf on 29 June 2026
    assert f'href="{address}?until=2024-06-11"' in then


@pytest.mark.parametrize("until", ["2031-01-01", "0001-01-01", "2026-02-30", "x", "\0"])
def test_a_day_on_which_no_year_ended_shows_the_present(client, owner, address, on_monday, until):
    client.force_login(owner)
    page = client.get(address, {"until": until})

    assert page.status_code == 200
    assert "What comes" in page.content.decode()


@pytest.fixture
def on_and_on(counted, spider_mite, stated, library):
    """Have a further week be counted, sprayed and counted again, beside a planting left alone."""
    left = Planting.objects.create(property=library, name="left alone", length_ft=10, width_ft=3)

    def add(week):
        day = EVENING + timedelta(days=7 * week)
        for planting, at in ((left, day), (counted, day - timedelta(days=1)), (counted, day)):
            ScoutingCount.objects.create(
                planting=planting,
                pest=spider_mite,
                scouted_at=at + timedelta(days=1),
                leaves_looked_at=20,
                leaves_infested=12,
                adults=120,
                untreated_reference=left if planting == counted else None,
            )
        done = day + timedelta(hours=12)
        record_application(**stated | {"started_at": done, "done_at": done})

    return add


def test_however_many_visits_were_judged_the_page_asks_as_often(on_and_on, library):
    asked = []
    for weeks in (range(1, 2), range(2, 6)):
        for week in weeks:
            on_and_on(week)
        with CaptureQueriesContext(connection) as seen:
            shown = place_shown(library, MONDAY + timedelta(days=60))
        asked.append(len(seen))

    assert asked[0] == asked[1]
    efficacy = [len(season.efficacy) for each in shown.plantings for season in each.seasons]
    assert max(efficacy) >= 5


def test_what_old_counts_told_of_a_product_still_counts_in_the_forecast(
    counted, spider_mite, stated, django_assert_num_queries
):
    record_application(**stated)
    (history,) = histories_of([counted], Year(counted.property, MONDAY + timedelta(days=800)))

    assert not history.records_shown()
    assert [record.product.name for record in history.records] == ["Quiet Soap"]
    with django_assert_num_queries(0):
        told = judged(
            pest=spider_mite,
            planting=counted,
            counts=history.counts,
            records=history.records,
        )
    assert not told  # nobody counted again after the visit

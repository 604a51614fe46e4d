"""What counts, weather and records say on the page of a planting, against figures from outside."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
import time_machine

from clients.models import Planting
from treatments.judging import measured_poor
from treatments.looking import look_at_planting
from treatments.models import Pest, ScoutingCount, WeatherStation
from treatments.recording import record_application

TODAY = date(2026, 7, 13)
NOW = datetime(2026, 7, 13, 16, tzinfo=UTC)


@pytest.fixture(autouse=True)
def july():
    """Stop the clock on a Monday in July, at noon by the clock of the place."""
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def station(db):
    """A station near the library."""
    return WeatherStation.objects.create(
        name="Yard", latitude=Decimal("40.24"), longitude=Decimal("-74.84")
    )


def days(station, first, number, lowest, highest):
    for place in range(number):
        day = first + timedelta(days=place)
        station.days.create(day=day, minimum_f=lowest, maximum_f=highest)


def count(planting, pest, day, adults, **told):
    return ScoutingCount.objects.create(
        planting=planting,
        pest=pest,
        scouted_at=datetime(2026, 7, day, 14, tzinfo=UTC),
        leaves_looked_at=20,
        leaves_infested=min(20, adults),
        adults=adults,
        **told,
    )


@pytest.fixture
def second_bed(rose_bed):
    """A bed beside the first, left untreated."""
    return Planting.objects.create(
        property=rose_bed.property,
        name="Far bed",
        common_name="hybrid rose",
        species="Rosa hybrids",
        plant_group="rose",
        habit="bed",
        length_ft=Decimal(10),
        width_ft=Decimal(10),
    )


@pytest.fixture
def sprayed(stated):
    """The soap, sprayed on the rose bed as the small business tells it."""
    return record_application(**stated)


@pytest.fixture
def page_of(client, dispatcher):
    """Return the page of counts of a planting as the office reads it."""
    client.force_login(dispatcher)
    return lambda planting: client.get(f"/plantings/{planting.pk}/counts/").content.decode()


def test_heat_since_the_count_is_told_with_its_method(page_of, rose_bed, spider_mite, station):
    # 50 to 70 F are 10.0 degree-days over 50 F by the single sine [UC-21373]: 33 C in six days
    days(station, date(2026, 7, 1), 20, 50, 70)
    count(rose_bed, spider_mite, 7, 40)

    page = page_of(rose_bed)

    assert "33 degree-days (°C)" in page
    assert "By the single sine over 10 °C, cut off level at 33 °C" in page
    assert "Temperatures of Yard" in page


def test_eggs_hatch_after_62_degree_days(page_of, rose_bed, spider_mite, station):
    # 67 to 87 F are a mean of 25 C: 15 over 10 C a day, so 62 of them are full on the fifth day
    days(station, date(2026, 7, 1), 20, 67, 87)
    count(rose_bed, spider_mite, 7, 40)

    assert "have hatched by about Jul\N{NO-BREAK SPACE}11,\N{NO-BREAK SPACE}2026" in page_of(
        rose_bed
    )


def test_crawlers_are_expected_at_500_degree_days(page_of, rose_bed, station):
    # Crawlers of euonymus scale at 500 over 50 F [WI-DEGREE-DAYS]; a mean of 54 F gives 4 a day
    # from 1 March on: 132 days until 10 July make 528, so they are out since 3 July
    scale = Pest.objects.create(
        common_name="euonymus scale", scientific_name="Unaspis euonymi", stages=["nymph"]
    )
    days(station, date(2026, 3, 1), 134, 44, 64)
    count(rose_bed, scale, 7, 40)

    assert "euonymus scale, crawlers: now, since 500 degree-days" in page_of(rose_bed)


def test_without_weather_the_page_says_what_is_wanting(page_of, rose_bed, spider_mite):
    count(rose_bed, spider_mite, 7, 40)

    page = page_of(rose_bed)

    assert (
        "No daily temperatures are known from Jul\N{NO-BREAK SPACE}7,\N{NO-BREAK SPACE}2026" in page
    )
    assert "degree-days (°C)" not in page


def test_a_pest_without_published_growth_has_no_forecast(rose_bed, station):
    days(station, date(2026, 7, 1), 20, 67, 87)
    bug = Pest.objects.create(
        common_name="azalea lace bug", scientific_name="Stephanitis pyrioides", stages=["adult"]
    )
    count(rose_bed, bug, 7, 40)

    (look,) = look_at_planting(rose_bed, TODAY)

    assert look.outlook.forecast is None
    assert [finding.code for finding in look.outlook.findings] == ["growth-not-published"]


def test_control_is_held_against_an_untreated_bed(
    page_of, rose_bed, second_bed, spider_mite, sprayed
):
    # Henderson and Tilton [JEE-48]: 100 (1 - 18 x 100 / (120 x 150)) = 90
    count(second_bed, spider_mite, 6, 100)
    count(second_bed, spider_mite, 11, 150)
    held = {"untreated_reference": second_bed}
    count(rose_bed, spider_mite, 6, 120, **held)
    count(rose_bed, spider_mite, 11, 18, **held)

    page = page_of(rose_bed)

    assert "90 percent control" in page
    assert "Henderson and Tilton" in page
    assert "against Far bed" in page


def test_without_a_count_before_the_untreated_bed_goes_by_abbott(
    rose_bed, second_bed, spider_mite, sprayed
):
    # By Abbott's formula [JEE-18] 150 untreated and 30 treated are 80 percent control.
    count(second_bed, spider_mite, 11, 150)
    count(rose_bed, spider_mite, 6, 120)
    count(rose_bed, spider_mite, 11, 30, untreated_reference=second_bed)

    (look,) = look_at_planting(rose_bed, TODAY)

    (told,) = look.judgements
    assert told.percent == pytest.approx(80)
    assert told.findings[0].source == "JEE-18"


def test_a_bed_that_was_sprayed_is_no_untreated_one(
    rose_bed, second_bed, spider_mite, sprayed, stated
):
    record_application(**stated | {"planting": second_bed})
    count(second_bed, spider_mite, 11, 150)
    count(rose_bed, spider_mite, 6, 120)
    count(rose_bed, spider_mite, 11, 30, untreated_reference=second_bed)

    (look,) = look_at_planting(rose_bed, TODAY)

    assert [finding.code for finding in look.judgements[0].findings] == ["change"]


@pytest.mark.parametrize(("adults", "step"), [(20, "beneficials"), (100, "soap or oil")])
def test_the_mildest_step_that_will_do_is_proposed(rose_bed, spider_mite, adults, step):
    # the threshold is 5 a leaf: 100 on twenty leaves reach it
    count(rose_bed, spider_mite, 12, adults)

    (look,) = look_at_planting(rose_bed, TODAY)

    assert look.steps.ladder.proposed.step.value == step


def test_a_threshold_reached_within_a_week_counts_as_reached(rose_bed, spider_mite, station):
    # from 4 a leaf at 25 C, 0.7 of .016 a degree-day: 5 are reached in two days
    days(station, date(2026, 7, 1), 13, 67, 87)
    count(rose_bed, spider_mite, 13, 80, eggs=200)

    (look,) = look_at_planting(rose_bed, TODAY)

    assert look.steps.ladder.proposed.reason.code == "soon-over-threshold"


def test_natural_enemies_that_hold_the_mites_are_left_to_it(rose_bed, spider_mite):
    count(rose_bed, spider_mite, 12, 100, predators=10)

    (look,) = look_at_planting(rose_bed, TODAY)

    assert look.steps.ladder.proposed.reason.code == "held-by-predators"


def test_the_page_of_a_new_count_says_how_many_leaves(client, dispatcher, rose_bed, spider_mite):
    # 23 leaves by count and 20 by presence at 5 mites a leaf, published on peppermint [JEE-106-4]
    count(rose_bed, spider_mite, 12, 100)
    client.force_login(dispatcher)

    plan = client.get(f"/plantings/{rose_bed.pk}/counts/new/").context["plan"].plan()

    assert plan.leaves == pytest.approx(23, abs=2)
    assert plan.leaves_for_presence == 20


def test_a_finer_count_takes_more_leaves(client, dispatcher, rose_bed, spider_mite):
    count(rose_bed, spider_mite, 12, 100)
    client.force_login(dispatcher)
    address = f"/plantings/{rose_bed.pk}/counts/new/"

    fine = client.get(address, {"pest": spider_mite.pk, "precision": "0.10"}).context["plan"].plan()
    rough = client.get(address, {"pest": spider_mite.pk, "precision": "0.50"})

    assert fine.leaves > rough.context["plan"].plan().leaves


def test_a_planting_is_not_held_against_itself(client, dispatcher, rose_bed, second_bed):
    client.force_login(dispatcher)

    form = client.get(f"/plantings/{rose_bed.pk}/counts/new/").context["form"]

    assert list(form.fields["untreated_reference"].queryset) == [second_bed]


def test_a_planting_by_itself_is_not_asked_what_was_left_untreated(client, dispatcher, rose_bed):
    client.force_login(dispatcher)

    form = client.get(f"/plantings/{rose_bed.pk}/counts/new/").context["form"]

    assert "untreated_reference" not in form.fields


def test_a_poor_result_is_told_to_the_forecast(rose_bed, second_bed, spider_mite, sprayed, station):
    # Henderson and Tilton [JEE-48]: 100 (1 - 120 x 100 / (120 x 110)) = 9 percent control
    days(station, date(2026, 6, 1), 60, 67, 87)
    count(second_bed, spider_mite, 6, 100)
    count(second_bed, spider_mite, 11, 110)
    count(rose_bed, spider_mite, 6, 120, untreated_reference=second_bed)
    count(rose_bed, spider_mite, 11, 120, untreated_reference=second_bed)

    (look,) = look_at_planting(rose_bed, TODAY)

    (poor,) = measured_poor(look.judgements)
    assert poor.percent == pytest.approx(9.1, abs=0.1)
    assert poor.part < 0.2

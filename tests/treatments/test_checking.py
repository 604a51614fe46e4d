"""Models are turned into facts, and the rules are asked of real days."""

from datetime import date, timedelta
from decimal import Decimal

import pytest

from clients.models import Planting
from treatments.checking import (
    check_conditions,
    check_course,
    check_weeks,
    days_of_weeks,
    groups_of,
    planting_facts,
    product_facts,
    treated_area_of,
)
from treatments.models import ActiveIngredient, Certificate, Product, Rotation, RotationWeek
from treatments.recording import record_application, void_application
from treatments.rules.facts import Conditions, SeparationClass, SignalWord

FIRST_DAY = date(2026, 7, 20)
TODAY = date(2026, 7, 10)


def spray(week, product, rate=3, **others):
    return RotationWeek(week=week, product=product, rate=Decimal(rate), basis="fl oz/gal", **others)


def codes(findings):
    return [(finding.week, finding.code) for finding in findings]


@pytest.fixture
def oil(soap):
    product = Product.objects.create(
        name="Low Oil", epa_registration_number="0-102", formulation_code="EC"
    )
    mineral = ActiveIngredient.objects.create(
        name="mineral oil", irac_group="UNM", separation_class="oil"
    )
    product.contents.create(ingredient=mineral, percent_by_weight=Decimal(98))
    product.rates.create(
        plant_group="rose", minimum=Decimal(1), maximum=Decimal(2), basis="fl oz/gal"
    )
    return product


@pytest.fixture
def another_bed(library):
    def bed(name, length_ft=10, width_ft=10, **others):
        return Planting.objects.create(
            property=library,
            name=name,
            common_name="rose",
            species="Rosa",
            plant_group="rose",
            habit="bed",
            length_ft=Decimal(length_ft),
            width_ft=Decimal(width_ft),
            **others,
        )

    return bed


@pytest.fixture
def rotation(soap, spider_mite):
    kept = Rotation.objects.create(name="Soap twice", pest=spider_mite, plant_group="rose")
    for week in (1, 2):
        kept.weeks.create(week=week, product=soap, rate=Decimal(3), basis="fl oz/gal")
    return kept


@pytest.mark.parametrize(
    ("shape", "square_feet"),
    [
        # plain geometry: two long faces of 120 x 6 ft and a top of 120 x 3 ft
        ({"habit": "hedge", "length_ft": 120, "width_ft": 3, "height_ft": 6}, "1800"),
        ({"habit": "hedge", "length_ft": 120, "width_ft": 3, "height_ft": 6, "faces": 1}, "1080"),
        (
            {
                "habit": "hedge",
                "length_ft": 120,
                "width_ft": 3,
                "height_ft": 6,
                "top_treated": False,
            },
            "1440",
        ),
        ({"habit": "lawn", "length_ft": 60, "width_ft": 25}, "1500"),
        # a circle of 20 ft across is 314.16 sq ft; rounded down to a tenth
        ({"habit": "tree", "length_ft": 20, "width_ft": 20}, "314.1"),
        ({"habit": "tree", "length_ft": 20, "width_ft": 20, "plants": 2}, "628.3"),
        ({"habit": "bed", "length_ft": 9, "width_ft": 9, "measured_area_sq_ft": 75}, "75"),
    ],
)
def test_the_treated_area_follows_from_how_a_planting_stands(shape, square_feet):
    sizes = {
        name: Decimal(size) if name.endswith("_ft") or name.startswith("measured") else size
        for name, size in shape.items()
    }

    assert treated_area_of(Planting(**sizes)) == Decimal(square_feet)


def test_the_facts_of_a_product_are_those_of_its_label(soap):
    soap.separation_days = 14
    soap.plants_excluded = ["sweet pea"]

    facts = product_facts(soap)

    assert facts.registration_number == "0-101"
    assert facts.signal_word is SignalWord.WARNING
    assert facts.separation_classes() == {SeparationClass.SOAP}
    assert (facts.rates[0].pest, facts.rates[0].maximum) == ("", 5)
    assert (facts.reentry_hours, facts.separation_days) == (12, 14)
    assert facts.plants_excluded == ("sweet pea",)


def test_a_filter_class_that_the_label_leaves_open_may_be_any(soap):
    assert product_facts(soap).respirator.filter_classes == {"N", "R", "P", "HE"}


def test_what_a_property_has_not_is_nowhere_near(rose_bed):
    assert planting_facts(rose_bed).water_distance_ft == Decimal("Infinity")


def test_a_pond_at_an_unknown_distance_is_unknown(rose_bed, library):
    library.open_water = True

    assert planting_facts(rose_bed).water_distance_ft is None


def test_groups_are_printed_as_on_the_label(soap, oil):
    for name, group in [("bifenthrin", "3A"), ("clofentezine", "10A")]:
        active = ActiveIngredient.objects.create(name=name, irac_group=group)
        oil.contents.create(ingredient=active, percent_by_weight=Decimal(1))

    assert groups_of(soap) == ""
    assert set(groups_of(oil).split(" + ")) == {"UNM", "3A", "10A"}


def test_each_week_follows_its_planned_days_after_the_one_before(soap):
    weeks = [spray(2, soap, planned_days=5), spray(1, soap), spray(3, soap, planned_days=9)]

    days = [day for _week, day in days_of_weeks(weeks, FIRST_DAY)]

    assert days == [FIRST_DAY + timedelta(days=days) for days in (0, 5, 14)]


def test_weeks_that_were_never_kept_are_checked_without_a_planting(soap, spider_mite):
    findings = check_weeks(
        [spray(1, soap, rate=6)],
        pest=spider_mite,
        first_day=FIRST_DAY,
        today=TODAY,
        plant_group="rose",
    )

    assert (1, "rate-above-label") in codes(findings)


@pytest.mark.parametrize(("days", "refused"), [(6, True), (7, False)])
def test_the_interval_of_the_label_is_held_against_real_days(soap, spider_mite, days, refused):
    weeks = [spray(1, soap), spray(2, soap, planned_days=days)]

    findings = check_weeks(weeks, pest=spider_mite, first_day=FIRST_DAY, today=TODAY)

    assert ((2, "interval-too-short") in codes(findings)) is refused


@pytest.mark.parametrize(("days", "refused"), [(6, True), (7, False)])
def test_what_the_records_show_counts_as_well(stated, soap, spider_mite, rose_bed, days, refused):
    record_application(**stated)
    first_day = date(2026, 7, 6) + timedelta(days=days)

    findings = check_weeks(
        [spray(1, soap)],
        pest=spider_mite,
        first_day=first_day,
        today=TODAY,
        plantings=[rose_bed],
    )

    assert ((1, "interval-too-short") in codes(findings)) is refused


def release(week, **others):
    return RotationWeek(week=week, step=RotationWeek.Step.RELEASE, **others)


# Common practice: predators follow soap by a day, abamectin by 21.
@pytest.mark.parametrize(("days", "meets"), [(20, True), (21, False)])
def test_a_release_waits_for_what_the_records_show(
    stated, soap, spider_mite, rose_bed, days, meets
):
    ActiveIngredient.objects.update(name="abamectin")
    record_application(**stated)

    found = check_weeks(
        [release(1)],
        pest=spider_mite,
        first_day=date(2026, 7, 6) + timedelta(days=days),
        today=TODAY,
        plantings=[rose_bed],
    )

    assert codes(found) == [(1, "residue-left")] * meets


@pytest.mark.parametrize(("days", "meets"), [(0, True), (1, False)])
@pytest.mark.parametrize("has_planting", [True, False])
def test_a_release_waits_for_what_is_planned(
    soap, spider_mite, rose_bed, days, meets, has_planting
):
    found = check_weeks(
        [spray(1, soap), release(2, planned_days=days)],
        pest=spider_mite,
        first_day=FIRST_DAY,
        today=TODAY,
        plantings=[rose_bed] if has_planting else [],
        plant_group="rose",
    )

    assert ((2, "residue-left") in codes(found)) is meets


def test_a_void_record_counts_for_nothing(stated, soap, spider_mite, rose_bed, dispatcher):
    record = record_application(**stated)
    void_application(record, reason="It was another garden.", by=dispatcher)

    findings = check_weeks(
        [spray(1, soap)],
        pest=spider_mite,
        first_day=date(2026, 7, 8),
        today=TODAY,
        plantings=[rose_bed],
    )

    assert "interval-too-short" not in {finding.code for finding in findings}


def test_an_organic_client_is_given_only_listed_products(
    reading_society, rose_bed, oil, spider_mite
):
    reading_society.organic_only = True
    reading_society.save()

    findings = check_weeks(
        [spray(1, oil, rate=1)],
        pest=spider_mite,
        first_day=FIRST_DAY,
        today=TODAY,
        plantings=[rose_bed],
    )

    assert (1, "not-organic") in codes(findings)


@pytest.mark.parametrize(("day", "told"), [(date(2026, 6, 15), True), (date(2026, 6, 16), False)])
def test_soap_on_open_flowers_is_told_to_the_last_day_of_bloom(
    rose_bed, soap, spider_mite, day, told
):
    findings = check_weeks(
        [spray(1, soap)], pest=spider_mite, first_day=day, today=TODAY, plantings=[rose_bed]
    )

    assert ((1, "open-flowers") in codes(findings)) is told


def test_a_certificate_of_the_place_is_asked_for(rose_bed, soap, spider_mite, applicator):
    def refusals():
        findings = check_weeks(
            [spray(1, soap)],
            pest=spider_mite,
            first_day=FIRST_DAY,
            today=TODAY,
            plantings=[rose_bed],
        )
        return [code for code in codes(findings) if code == (1, "no-certificate")]

    assert refusals() == []

    Certificate.objects.update(jurisdiction="US-NJ")

    assert refusals() == [(1, "no-certificate")]


def test_a_renewed_certificate_is_not_about_to_lapse(rose_bed, soap, spider_mite, applicator):
    def lapsing(today):
        findings = check_weeks(
            [spray(1, soap)],
            pest=spider_mite,
            first_day=FIRST_DAY,
            today=today,
            plantings=[rose_bed],
        )
        return [finding for finding in findings if finding.code == "certificate-lapsing"]

    assert lapsing(date(2027, 12, 1))

    applicator.certificates.create(
        number="PA-0008", jurisdiction="US-PA", expires_on=date(2030, 12, 31)
    )

    assert not lapsing(date(2027, 12, 1))


def test_the_store_must_last_for_all_plantings_together(
    rose_bed, soap, soap_lot, spider_mite, another_bed
):
    # 3 fl oz/gal at the label's 5 gal for 1,000 sq ft: 72 fl oz on 4,800 sq ft, 128 in the store
    beds = [another_bed("East", length_ft=80, width_ft=60), another_bed("West", 80, 60)]

    def short(plantings):
        findings = check_weeks(
            [spray(1, soap)],
            pest=spider_mite,
            first_day=FIRST_DAY,
            today=TODAY,
            plantings=plantings,
        )
        return [finding.facts["short"] for finding in findings if finding.code == "stock-short"]

    assert short(beds[:1]) == []
    assert short(beds) == [16]


def test_what_is_said_of_one_planting_of_several_names_it(rose_bed, soap, spider_mite, another_bed):
    other = another_bed("Thirsty bed", drought_stressed=True)

    findings = check_weeks(
        [spray(1, soap, rate=6)],
        pest=spider_mite,
        first_day=FIRST_DAY,
        today=TODAY,
        plantings=[rose_bed, other],
    )

    thirsty = [finding for finding in findings if finding.code == "drought"]
    above = [finding for finding in findings if finding.code == "rate-above-label"]
    assert [finding.facts["planting"] for finding in thirsty] == ["Thirsty bed"]
    assert ["planting" in finding.facts for finding in above] == [False]


def test_a_course_is_checked_with_the_weeks_of_its_rotation(rotation, rose_bed, soap_lot):
    findings = check_course(rotation, [rose_bed], FIRST_DAY, TODAY)

    assert (1, "no-certificate") in codes(findings)
    assert (2, "no-certificate") in codes(findings)


@pytest.mark.parametrize("many", [1, 6])
def test_the_number_of_queries_does_not_grow(
    stated, soap, oil, spider_mite, rose_bed, another_bed, django_assert_num_queries, many
):
    record_application(**stated)
    beds = [rose_bed, *(another_bed(f"Bed {place}") for place in range(many - 1))]
    weeks = [spray(week, (soap, oil)[week % 2]) for week in range(1, many + 1)]

    with django_assert_num_queries(8):
        check_weeks(weeks, pest=spider_mite, first_day=FIRST_DAY, today=TODAY, plantings=beds)


@pytest.mark.parametrize(("wind", "held"), [("10", False), ("10.1", True)])
def test_wind_above_the_label_stops_the_work(soap, wind, held):
    soap.wind_maximum_mph = Decimal(10)
    air = Conditions(
        at=None, wind_mph=Decimal(wind), temperature_f=Decimal(70), hours_to_rain=Decimal(24)
    )

    findings = check_conditions(soap, air)

    assert ("wind-above-label" in {finding.code for finding in findings}) is held

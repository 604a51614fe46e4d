"""The demonstration: invented where it must be, real where it says so, and the same each time."""

from collections import Counter
from datetime import date, datetime, timedelta
from decimal import Decimal
from io import StringIO
from itertools import pairwise

import pytest
from django.core.management import CommandError, call_command
from django.db import transaction

from clients.models import Planting, Property
from services.demonstration import loading, papers
from services.demonstration.progress import Progress
from services.demonstration.reading import Days, moment, read
from services.figures import figures_of
from services.mixing import mixing_of
from services.models import Course, Crew, Dispatch, Hold, LoadLine, Visit
from services.printing.loading import dispatches_for_paper
from services.project import serving
from treatments.looking import look_at_planting
from treatments.models import (
    ApplicationRecord,
    Business,
    Certificate,
    Lot,
    Product,
    Rotation,
    ScoutingCount,
    SignTakenDown,
    StockEntry,
)
from treatments.posting import signs_standing
from treatments.rules.registration import parse_registration_number
from treatments.rules.table_files import read_json
from treatments.rules.units import Measure

# All follow one another in one process, for which the demonstration is loaded once.
pytestmark = pytest.mark.slow

TODAY = date(2026, 7, 16)  # a Thursday
MONDAY = date(2026, 7, 13)
THOUSANDTH = Decimal("0.001")
ROWS = [Course, Visit, Dispatch, LoadLine, ApplicationRecord, StockEntry, ScoutingCount, Lot]


def no_step(words):
    """Tell nobody."""


@pytest.fixture(scope="module")
def loaded(django_db_setup, django_db_blocker):
    """The demonstration of a Thursday in July, loaded once for all tests of this file."""
    with django_db_blocker.unblock(), transaction.atomic():
        yield loading.load(TODAY, no_step)
        transaction.set_rollback(True)


@pytest.fixture
def empty(db):
    """A book in which nothing stands yet."""


@pytest.fixture
def prepared(monkeypatch):
    """Leave the database and the static files as the tests have them."""
    monkeypatch.setattr(serving, "prepare", lambda: None)


def counted(course):
    """Return what was found on a leaf of a course's first planting, count after count."""
    counts = ScoutingCount.objects.filter(
        planting=course.plantings.first(), pest=course.rotation.pest
    )
    return [count.motiles_per_leaf() for count in counts.order_by("scouted_at")]


def current_weeks():
    """Return how many courses stand in which week."""
    firsts = {}
    for visit in (
        Visit.objects.open().order_by("-rotation_week__week").select_related("rotation_week")
    ):
        firsts[visit.course_id] = visit.week
    return Counter(firsts.values())


def in_all_tables():
    """Return every row of what a second run could change."""
    return {model: list(model.objects.order_by("pk").values()) for model in ROWS}


def test_no_registration_number_of_the_data_can_exist():
    # [EPA-LRM-14] company numbers are given out from one upward
    numbers = [row["number"] for row in read("products")["products"] if "number" in row]

    assert len(numbers) == 11
    assert all(parse_registration_number(number).cannot_exist() for number in numbers)


def test_addresses_for_mail_are_those_that_nobody_has():
    # RFC 2606: example.com and example.org are reserved, from memory
    files = ["business", "places_pennsylvania", "places_new_jersey"]
    told = [word for name in files for word in str(read(name)).replace("'", " ").split()]

    hosts = {word.rpartition("@")[2] for word in told if "@" in word}

    assert {".".join(host.split(".")[-2:]) for host in hosts} == {"example.com", "example.org"}


def test_telephone_numbers_are_of_the_range_for_fiction():
    # 555-0100 to 555-0199 are kept for fiction, from memory
    numbers = [
        row["phone"]
        for name in ("places_pennsylvania", "places_new_jersey")
        for row in read(name)["clients"]
    ]

    assert all("-555-01" in number for number in numbers)


def test_the_groups_are_those_of_the_cited_table(loaded):
    # [IRAC] [FRAC] as the table of active ingredients cites them
    table = {row["common_name"]: row for row in read_json("actives")}

    for product in Product.objects.filter(kind="pesticide"):
        for ingredient in product.ingredients.all():
            row = table[ingredient.name]
            groups = (row["irac_group"] or "", row["frac_group"] or "")
            assert (ingredient.irac_group, ingredient.frac_group) == groups


def test_the_book_is_as_large_as_it_was_promised(loaded):
    assert Crew.objects.count() == 5
    assert 38 <= Property.objects.count() <= 42
    assert 110 <= Planting.objects.count() <= 130
    assert Product.objects.count() == 12
    assert Lot.objects.count() == 30


def test_the_business_says_that_it_is_invented(loaded):
    assert Business.of_this_book().invented


def test_finished_courses_show_counts_that_fall(loaded):
    worked = Course.objects.filter(outcome=Course.Outcome.WORKED)

    assert worked.count() >= 2
    for course in worked:
        assert all(later < earlier for earlier, later in pairwise(counted(course)))


def test_one_course_failed_under_one_mode_of_action(loaded):
    failed = Course.objects.get(outcome=Course.Outcome.FAILED)
    accepted = failed.rotation.accepted_warnings.all()

    assert all(later > earlier for earlier, later in pairwise(counted(failed)))
    assert {each.code for each in accepted} == {"group-repeated", "group-too-often"}
    assert all(each.reason for each in accepted)


def test_roses_left_untreated_rise_while_those_beside_them_fall(loaded):
    bed, left = (
        Planting.objects.get(property__name="Stonecastle", name=name)
        for name in ("Rose bed", "Four roses by the shed")
    )
    treated, untreated = (
        [count.motiles_per_leaf() for count in planting.counts.order_by("scouted_at")]
        for planting in (bed, left)
    )

    assert all(later < earlier for earlier, later in pairwise(treated))
    assert all(later > earlier for earlier, later in pairwise(untreated))
    assert not ApplicationRecord.objects.filter(planting=left).exists()


def test_what_the_visits_did_is_held_against_the_untreated_roses(loaded):
    bed = Planting.objects.get(property__name="Stonecastle", name="Rose bed")

    (look,) = look_at_planting(bed, TODAY)

    told = [each.findings[0] for each in look.judgements]
    assert {finding.source for finding in told} == {"JEE-48"}
    # [JEE-48] 100 (1 - Ta Cb / (Tb Ca)) by hand, counts of 20 leaves rounded to whole mites:
    # 158 -> 126 beside 148 -> 252, 126 -> 92 beside 252 -> 418, 92 -> 62 beside 418 -> 630
    assert [finding.facts["percent"] for finding in told] == ["53", "56", "55"]


def test_courses_stand_in_weeks_one_two_three_and_five(loaded):
    weeks = current_weeks()

    assert {1, 2, 3, 5} <= set(weeks)


def test_every_crew_has_a_route_in_the_dispatched_week(loaded):
    week = Dispatch.objects.filter(day__gte=MONDAY)
    crews = set(week.values_list("crew__name", flat=True))

    assert crews == {"Alder", "Heron", "Sycamore", "Moth", "Nighthawk"}


def test_all_of_week_three_is_on_a_route_but_what_is_held_or_short(loaded):
    week = Visit.objects.filter(
        rotation_week__week=3, planned__range=(MONDAY, MONDAY + timedelta(6))
    )

    reasons = Counter(visit.left_out["code"] for visit in week if visit.left_out)

    assert 15 <= week.filter(dispatch__isnull=False).count() <= 25
    assert reasons == {"held": 1, "stock-short": 1}


def test_no_crew_waits_longer_on_its_route_than_it_works(loaded):
    for dispatch in Dispatch.objects.all():
        seconds = Counter()
        for leg in dispatch.legs:
            begins, ends = (datetime.fromisoformat(leg[end]) for end in ("from", "until"))
            if begins < dispatch.returns_at:
                seconds[leg["kind"]] += (ends - begins).total_seconds()
        assert seconds["wait"] <= seconds["work"]


def test_what_nearly_all_past_visits_earned_is_known(loaded):
    made = Visit.objects.filter(state=Visit.State.COMPLETED)
    figures = figures_of(made)

    # On the short evenings of a winter some visits find no room on a route.
    unknown = [each for each in figures if each.margin() is None]
    assert len(unknown) < len(figures) / 20
    assert made.filter(dispatch=None).count() < len(figures) / 20


def test_a_truck_carries_what_the_sheets_of_its_stops_tell_to_measure(loaded):
    for dispatch in dispatches_for_paper(Dispatch.objects.all()):
        told = Counter()
        for visit in dispatch.visits.all():
            if visit.rotation_week.product:
                mix = mixing_of(visit, dispatch.crew, dispatch.day).mix
                told[mixed_in(visit, "product")] += mix.product.amount
                told[mixed_in(visit, "adjuvant")] += mix.adjuvant.amount if mix.adjuvant else 0
        for product, amount in told.items():
            carried = sum(
                line.amount for line in dispatch.load.all() if line.lot.product == product
            )
            # Each stop is rounded up by less than a thousandth, far below a step of any tool.
            assert amount <= carried < amount + len(dispatch.visits.all()) * THOUSANDTH


def mixed_in(visit, what):
    return getattr(visit.rotation_week, what)


def test_what_a_truck_carries_is_within_a_step_of_what_the_label_asks(loaded):
    for dispatch in dispatches_for_paper(Dispatch.objects.all()):
        for visit in dispatch.visits.all():
            if visit.rotation_week.product is None:
                continue
            for plan in mixing_of(visit, dispatch.crew, dispatch.day).mix.plans:
                tool = plan.tanks[0].product.tool
                step = Measure(tool.step, tool.unit).to(plan.total.unit).amount
                off = abs(plan.total_measured.amount - plan.total.amount)
                assert off <= len(plan.tanks) * step


def test_one_visit_is_held_for_wind(loaded):
    assert Hold.objects.get(lifted_at=None).reason == "wind"


def test_one_visit_is_late(loaded):
    late = [visit for visit in Visit.objects.open() if visit.is_late_on(TODAY)]

    assert [(visit.course.property.name, visit.week) for visit in late] == [("Plumtree", 2)]


def test_one_certificate_lapses_within_thirty_days(loaded):
    soon = TODAY + timedelta(days=30)

    assert Certificate.objects.filter(expires_on__range=(TODAY, soon)).count() == 1


def test_the_refused_rotation_is_told_and_not_kept(loaded):
    codes = {finding.code for finding in loaded.refusals}

    assert {"kept-apart", "rate-above-label", "petals-not-fallen"} <= codes
    assert not Rotation.objects.filter(name=read("rotations")["refused"]["name"]).exists()


def test_some_records_were_amended(loaded):
    amended = ApplicationRecord.objects.filter(amends__isnull=False)

    assert amended.count() == 3
    assert all(record.amendment_reason for record in amended)


def test_records_are_numbered_in_the_order_in_which_the_book_took_them(loaded):
    taken = ApplicationRecord.objects.order_by("number").values_list("received_at", flat=True)

    assert list(taken) == sorted(taken)


def test_a_season_leaves_nothing_to_be_looked_into(loaded):
    flags = [flag["code"] for record in ApplicationRecord.objects.all() for flag in record.flags]

    assert flags == []


def test_the_composed_rotation_is_put_on_against_two_spotted_mite(loaded):
    name = read("rotations")["composed"]["name"]

    course = Course.objects.get(rotation__name=name)

    assert course.rotation.pest.common_name == "two-spotted spider mite"
    assert course.first_day == TODAY


def test_a_second_run_changes_no_row_and_no_byte(loaded, prepared, tmp_path):
    call_command("demo", "--once", "--out", tmp_path / "first", stdout=StringIO())
    rows = in_all_tables()

    call_command("demo", "--once", "--out", tmp_path / "second", stdout=StringIO())

    assert in_all_tables() == rows
    for path in (tmp_path / "first").iterdir():
        assert path.read_bytes() == (tmp_path / "second" / path.name).read_bytes()


def test_a_second_run_shows_no_password(loaded, prepared, tmp_path):
    told = StringIO()

    call_command("demo", "--once", "--out", tmp_path, stdout=told)

    assert "changepassword" in told.getvalue()
    assert not any(password in told.getvalue() for password in loaded.passwords.values())


def test_the_papers_name_the_crews_and_say_that_all_is_invented(loaded, tmp_path):
    import pdfplumber

    papers.write_papers(tmp_path)

    with pdfplumber.open(tmp_path / "visit-sheets.pdf") as sheets:
        first = sheets.pages[0].extract_text()
    assert "Alder" in first
    assert "invented for a demonstration" in first


def test_a_book_in_use_is_left_alone(empty, prepared, tmp_path):
    Business(name="Real Gardens").save()

    with pytest.raises(CommandError, match="belongs to Real Gardens"):
        call_command("demo", "--once", "--out", tmp_path)


def test_what_stops_half_way_leaves_the_book_empty(empty):
    def stop(words):
        if words == "labels":
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        loading.load(TODAY, stop)

    assert not Business.objects.exists()
    assert not loading.is_loaded()


@pytest.mark.once
def test_it_plays_on_a_sunday_in_spring_as_on_the_monday_after(empty):
    loading.load(date(2027, 5, 9), no_step)

    week = Dispatch.objects.filter(day__gt=date(2027, 5, 9))
    first = week.order_by("day").first()

    assert first.day == date(2027, 5, 10)
    assert week.values("crew").distinct().count() == 5
    assert Visit.objects.filter(dispatch__day=first.day, state=Visit.State.COMPLETED).exists()


@pytest.mark.once
def test_it_plays_in_winter_over_the_turn_of_the_year(empty):
    loading.load(date(2027, 1, 2), no_step)

    week = Dispatch.objects.filter(day__gte=Days.of(date(2027, 1, 2)).monday)
    assert week.values("crew").distinct().count() == 5
    assert ApplicationRecord.objects.count() > 150


@pytest.mark.parametrize(
    ("today", "plays_on", "monday"),
    [
        (date(2026, 7, 11), date(2026, 7, 11), date(2026, 7, 6)),  # a Saturday
        (date(2026, 7, 12), date(2026, 7, 13), date(2026, 7, 13)),  # the Sunday
        (date(2026, 7, 13), date(2026, 7, 13), date(2026, 7, 13)),  # the Monday
    ],
)
def test_a_sunday_belongs_to_the_week_that_comes(today, plays_on, monday):
    days = Days.of(today)

    assert (days.today, days.monday) == (plays_on, monday)


def test_progress_is_a_few_lines_where_nobody_watches():
    told = StringIO()
    progress = Progress(Told(told), steps=100)

    for number in range(100):
        progress.step(f"step {number}")

    assert 5 <= len(told.getvalue().splitlines()) <= 7
    assert "100 %" in told.getvalue()


class Told:
    """What a command writes to, without a terminal behind it."""

    def __init__(self, out):
        self.out = out

    def isatty(self):
        return False

    def write(self, sentence):
        self.out.write(f"{sentence}\n")


def test_signs_come_down_soon_after_their_time(loaded):
    now = moment(TODAY, 12)
    standing = signs_standing(ApplicationRecord.objects.all(), now)

    assert standing
    assert all(sign.down_at is None or sign.down_at > now - timedelta(days=3) for sign in standing)
    assert SignTakenDown.objects.count() > len(standing)

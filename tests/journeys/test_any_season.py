"""A season in any order: courses, routes, holds, records, corrections and the store.

Hypothesis picks the steps; each goes through the pages, the phones' door or the
action that the page calls.  What was said to be kept is written down here as well, by sums of this
file's own, and held against the book after every step.

`DUSKBOOK_DEPTH=20` tries twenty times as many seasons, each twice as long.
"""

import os
from collections import Counter
from contextlib import suppress
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from itertools import combinations
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from django.core.cache import cache
from django.core.exceptions import ValidationError
from django.db import transaction
from django.test import Client as Browser
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)

from services.courses import end_course, move_visit, put_on
from services.devices import enrol, make_code
from services.dispatching import dispatch_day, recall, what_stands_in_the_way
from services.holding import hold_until, lift_hold
from services.models import Course, Dispatch, FieldEvent, Hold, Visit
from services.routes import load_of
from services.verifying import verify
from tests.book import tell_by_telephone
from tests.services.field.conftest import Phone
from treatments.chosen import forget
from treatments.correcting import agree, ask_to_void, correct_record, decline
from treatments.models import ApplicationRecord, Correction, JournalEntry, Lot, Rotation, StockEntry
from treatments.recording import current_of
from treatments.rules.journal import RECORD, entry_id_of
from treatments.storekeeping import (
    carried,
    count_lot,
    dispose,
    move_stock,
    receive_lot,
    return_to_store,
)

pytestmark = pytest.mark.django_db

DEPTH = int(os.environ.get("DUSKBOOK_DEPTH", "1"))
THERE = ZoneInfo("America/New_York")
BEGINS = datetime(2026, 7, 6, 12, tzinfo=UTC)  # a Monday, 8:00 at the yard
TOO_SOON = "interval-too-short"
REASON = "It was written down wrong."
AIR = {"wind_mph": "4", "wind_direction": "N", "temperature_f": "75", "humidity_percent": "50"}

amounts = st.integers(1, 400).map(lambda tenths: Decimal(tenths) / 10)
picked = st.integers(0, 1_000)


STEPS = []


class NothingThere(LookupError):
    """A step needs what is not in the book yet."""


def step(often=1, /, **drawn):
    """Let a method be a step of a season, with what is drawn for it."""

    def noted(method):
        named = st.tuples(st.just(method.__name__), st.fixed_dictionaries(drawn))
        STEPS.extend([named] * often)
        return method

    return noted


def one_of(rows, number):
    """Return one of some rows."""
    rows = list(rows)
    return rows[number % len(rows)]


class Season(RuleBasedStateMachine):
    """A season of one crew, two phones, two beds and two products with intervals of a week."""

    world = None  # what the fixtures made, put here by the test
    reached = Counter()  # how often each step was made, over every season

    def __init__(self):
        super().__init__()
        self.clock, self.season, self.people, rotations = self.world
        self.rotations = rotations
        self.frame = transaction.atomic()
        self.frame.__enter__()
        self.clock.move_to(BEGINS)
        cache.clear()
        forget()
        self.steps = Counter()
        self.store = {lot.pk: lot.left() for lot in Lot.objects.all()}
        self.aboard = Counter()  # what the truck carries of each lot, moved there by hand
        self.kept = {}
        self.told = []
        self.sent = []

    def teardown(self):
        try:
            self.journal_verifies()
        finally:
            transaction.set_rollback(True)
            self.frame.__exit__(None, None, None)
            self.reached.update(self.steps)

    @initialize()
    def phones_are_enrolled(self):
        self.phones = []
        for person in (self.people["technician"], self.season.applicator.user):
            _waiting, code = make_code(person, name="Phone", by=self.people["owner"], now=self.now)
            self.phones.append(Phone(*enrol(code, now=self.now)))

    @initialize(mist_alone=st.booleans())
    def the_first_course_begins(self, mist_alone):
        self.a_rotation_is_put_on(number=int(mist_alone), both=True, days=0)
        self.a_day_is_dispatched(days=0, told=True)

    @property
    def now(self):
        return datetime.now(UTC)

    @property
    def today(self):
        return self.now.astimezone(THERE).date()

    def browser(self, person):
        browser = Browser()
        browser.force_login(self.people[person])
        return browser

    # What the office does

    @step(number=picked, both=st.booleans(), days=st.integers(0, 4))
    def a_rotation_is_put_on(self, number, both, days):
        beds = self.season.beds if both else [one_of(self.season.beds, number)]
        asked = {"rotation": one_of(self.rotations, number), "plantings": beds}
        asked |= {"first_day": self.today + timedelta(days), "today": self.today}
        self.may_be_refused("put on", put_on, by=self.people["owner"], **asked)

    @step(3, days=st.integers(0, 3), told=st.booleans())
    def a_day_is_dispatched(self, days, told):
        day = self.today + timedelta(days)
        before = set(Visit.objects.filter(dispatch__day=day).values_list("pk", flat=True))
        waiting = Visit.objects.filter(state=Visit.State.NEEDS_ACTION)
        chosen = list(waiting.filter(earliest__lte=day, latest__gte=day))
        for visit in chosen if told else []:
            tell_by_telephone(visit, self.now - timedelta(days=4))
        office = self.people["owner"]
        plan = self.may_be_refused(
            "dispatch", dispatch_day, day=day, visits=chosen, by=office, now=self.now
        )
        if plan is not None:
            self.routes_hold_what_they_say(day)
            new = Visit.objects.filter(dispatch__day=day).exclude(pk__in=before)
            self.no_interval_is_planned_short(new, day)

    @step(number=picked)
    def a_route_is_taken_back(self, number):
        route = self.any_of(Dispatch.objects, number)
        recall(route, by=self.people["owner"])
        self.steps["recall"] += 1

    @step(number=picked, days=st.integers(0, 6))
    def a_visit_is_put_off(self, number, days):
        visit = self.any_of(self.open_visits(), number)
        told = {"reason": Hold.Reason.RAIN, "by": self.people["owner"], "at": self.now}
        told["not_before"] = self.today + timedelta(days)
        self.may_be_refused("hold", hold_until, visit, **told)

    @step(number=picked)
    def a_hold_is_lifted(self, number):
        hold = self.any_of(Hold.objects.filter(lifted_at__isnull=True), number)
        lift_hold(hold, by=self.people["owner"], at=self.now)
        self.steps["lift"] += 1

    @step(number=picked, days=st.integers(-3, 6))
    def a_visit_is_moved(self, number, days):
        visit = self.any_of(self.open_visits(), number)
        told = {"by": self.people["owner"], "version": visit.version}
        told["day"] = visit.planned + timedelta(days)
        self.may_be_refused("move", move_visit, visit, **told)

    @step(number=picked)
    def a_course_is_ended(self, number):
        course = self.any_of(Course.objects.filter(ended_at__isnull=True), number)
        end_course(course, outcome="stopped", by=self.people["owner"], at=self.now)
        self.steps["end"] += 1

    # What the crew does

    @step(number=picked)
    def a_visit_is_begun(self, number):
        visit = self.any_of(self.open_visits(), number)
        self.browser("owner").post(f"/visits/{visit.pk}/start/", AIR)
        self.steps["start"] += 1

    @step(
        2,
        number=picked,
        amount=amounts,
        days=st.integers(0, 3),
        person=st.sampled_from(["owner", "dispatcher", "applicator"]),
        lot=picked,
    )
    def a_visit_is_completed_on_its_page(self, number, amount, days, person, lot):
        visit = self.any_of(self.visits_to_tell_of(), number)
        lots = Lot.objects.filter(product=visit.rotation_week.product).order_by("pk")
        begun = self.now.astimezone(THERE) - timedelta(days, minutes=60)
        typed = AIR | {
            "form_id": str(uuid4()),
            "day": f"{begun:%Y-%m-%d}",
            "started": f"{begun:%H:%M}",
            "ended": f"{begun + timedelta(minutes=35):%H:%M}",
            "lot": one_of(lots, lot).pk,
            "applicator": self.season.applicator.pk,
            "from_paper": "on",
        }
        for bed in visit.course.plantings.all():
            typed |= {f"amount_{bed.pk}": str(amount), f"spray_{bed.pk}": "3"}
        self.post_completion(visit, person, typed, amount)

    def post_completion(self, visit, person, typed, amount):
        beds = visit.course.plantings.count()
        known = ApplicationRecord.objects.count()
        answer = self.browser(person).post(f"/visits/{visit.pk}/complete/", typed)
        assert answer.status_code in (302, 404, 409, 422), answer.status_code
        new = ApplicationRecord.objects.count() - known
        assert new == (beds if answer.status_code == 302 else 0)
        self.steps[f"page {answer.status_code}"] += 1
        self.write_down(amount=amount)
        if answer.status_code == 302:
            self.told.append((visit, person, typed))

    @step(number=picked)
    def a_form_is_sent_again(self, number):
        visit, person, typed = self.any_of(self.told, number)
        known = ApplicationRecord.objects.count()
        answer = self.browser(person).post(f"/visits/{visit.pk}/complete/", typed)
        assert answer.status_code in (302, 404)
        assert ApplicationRecord.objects.count() == known

    @step(
        3,
        phone=picked,
        number=picked,
        amount=amounts,
        hours=st.integers(-30, 80),
        lot=picked,
        complete=st.booleans(),
    )
    def a_phone_tells_of_a_visit(self, phone, number, amount, hours, lot, complete):
        phone, visit = one_of(self.phones, phone), self.any_of(self.visits_to_tell_of(), number)
        phone.packet()
        ended = self.now.astimezone(THERE) - timedelta(hours=hours)
        event = phone.event(
            "complete" if complete else "hold",
            visit_id=visit.pk,
            done_at=ended.isoformat(),
            captured_at=ended.isoformat(),
            clock={"device": ended.isoformat(), "server_seen": None, "ticks_ms": None},
            body=self.done_by_phone(visit, amount, ended, lot) if complete else {"reason": "wind"},
        )
        (reply,) = phone.say(event)
        self.sent.append((phone, event, reply))
        self.steps[f"phone {event['kind']} {reply['result']}"] += 1
        self.write_down(amount=amount)

    def done_by_phone(self, visit, amount, ended, lot):
        lots = list(Lot.objects.filter(product=visit.rotation_week.product).order_by("pk"))
        return {
            "started_at": (ended - timedelta(minutes=30)).isoformat(),
            "applicator": self.season.applicator.pk,
            "conditions": AIR,
            "reports": [
                {
                    "planting": bed.pk,
                    "lot": one_of([*(each.pk for each in lots), None], lot),
                    "product_amount": str(amount),
                    "mix_gallons": "3",
                }
                for bed in visit.course.plantings.all()
            ],
        }

    @step(number=picked)
    def a_phone_sends_again(self, number):
        phone, event, first = self.any_of(self.sent, number)
        known = ApplicationRecord.objects.count(), FieldEvent.objects.count()
        (again,) = phone.say(event)
        if first["result"] in ("accepted", "accepted_flagged"):
            assert again == first | {"result": "duplicate"}
            assert known == (ApplicationRecord.objects.count(), FieldEvent.objects.count())
        self.write_down()

    # What is put right

    @step(
        3,
        number=picked,
        person=st.sampled_from(["owner", "dispatcher", "applicator", "technician"]),
        change=st.sampled_from(["amount", "day", "lot", "gloves"]),
        amount=amounts,
        days=st.integers(-9, 9),
    )
    def a_record_is_corrected(self, number, person, change, amount, days):
        record = self.any_of(ApplicationRecord.objects.order_by("number"), number)
        lots = Lot.objects.filter(product=record.product).order_by("pk")
        moved = min(record.done_at + timedelta(days), self.now)
        changes = {
            "amount": {"product_amount": amount},
            "day": {"done_at": moved, "started_at": moved - timedelta(minutes=30)},
            "lot": {"lot": one_of(lots, number)},
            "gloves": {"protective_equipment": f"gloves {number}"},
        }[change]
        told = {"reason": REASON, "by": self.people[person], "at": self.now} | changes
        self.may_be_refused("correct", correct_record, record, **told)
        self.write_down()

    @step(number=picked, person=st.sampled_from(["owner", "applicator", "dispatcher"]))
    def a_record_is_asked_to_be_void(self, number, person):
        record = self.any_of(ApplicationRecord.objects.order_by("number"), number)
        told = {"reason": REASON, "by": self.people[person], "at": self.now}
        self.may_be_refused("void", ask_to_void, record, **told)

    @step(4, number=picked, person=st.sampled_from(["owner", "applicator"]), agreed=st.booleans())
    def a_correction_is_answered(self, number, person, agreed):
        asked = self.any_of(Correction.objects, number)
        answer = agree if agreed else decline
        told = {"by": self.people[person], "at": self.now}
        self.may_be_refused(answer.__name__, answer, asked, **told)
        self.write_down()

    # What the store does

    @step(number=picked, amount=amounts, fresh=st.booleans())
    def a_delivery_comes(self, number, amount, fresh):
        product = one_of([self.season.soap, self.season.mist], number)
        lot = receive_lot(
            product=product,
            amount=amount,
            received_on=self.today,
            by=self.people["dispatcher"],
            lot_number=f"D-{Lot.objects.count()}" if fresh else "D-1",
        )
        self.store[lot.pk] = self.store.get(lot.pk, Decimal(0)) + amount
        self.steps["receive"] += 1

    @property
    def locker(self):
        return self.season.crew.truck.locker

    def on_the_shelf(self, lot):
        return self.store[lot.pk] - self.aboard[lot.pk]

    @step(number=picked, amount=amounts, on_truck=st.booleans())
    def a_lot_is_counted(self, number, amount, on_truck):
        lot = self.any_of(Lot.objects, number)
        locker = self.locker if on_truck else None
        count_lot(lot, counted=amount, by=self.people["dispatcher"], locker=locker)
        found = amount - (self.aboard[lot.pk] if on_truck else self.on_the_shelf(lot))
        self.store[lot.pk] += found
        self.aboard[lot.pk] += found if on_truck else 0

    @step(number=picked, amount=amounts, on_truck=st.booleans())
    def product_is_disposed_of(self, number, amount, on_truck):
        lot = self.any_of(Lot.objects, number)
        fits = amount <= (self.aboard[lot.pk] if on_truck else self.on_the_shelf(lot))
        told = {"amount": amount, "by": self.people["dispatcher"], "note": "taken to the county"}
        told["locker"] = self.locker if on_truck else None
        line = self.may_be_refused("dispose", dispose, lot, **told)
        assert (line is not None) == fits
        if fits:
            self.store[lot.pk] -= amount
            self.aboard[lot.pk] -= amount if on_truck else 0

    @step(number=picked, amount=amounts, back=st.booleans())
    def product_is_moved(self, number, amount, back):
        lot = self.any_of(Lot.objects, number)
        fits = amount <= (self.aboard[lot.pk] if back else self.on_the_shelf(lot))
        places = {"origin": None, "destination": self.locker}
        if back:
            places = {"origin": self.locker, "destination": None}
        told = {"amount": amount, "by": self.people["dispatcher"], **places}
        line = self.may_be_refused("move stock", move_stock, lot, **told)
        assert (line is not None) == fits
        if fits:
            self.aboard[lot.pk] += -amount if back else amount

    @step(number=picked, amount=amounts)
    def product_comes_back(self, number, amount):
        lot = self.any_of(Lot.objects, number)
        return_to_store(lot, amount=amount, by=self.people["dispatcher"])
        self.store[lot.pk] += amount

    @step(3, hours=st.sampled_from([3, 11, 24, 48]))
    def time_passes(self, hours):
        self.clock.shift(timedelta(hours=hours))

    @rule(step=st.deferred(lambda: st.one_of(STEPS)))
    def happens(self, step):
        name, drawn = step
        with suppress(NothingThere):
            getattr(self, name)(**drawn)

    # What must hold

    def may_be_refused(self, name, action, *args, **told):
        """Do what may be refused by a rule; another fault is a fault."""
        try:
            with transaction.atomic():
                done = action(*args, **told)
        except ValidationError:
            self.steps[f"{name} refused"] += 1
            return None
        self.steps[name] += 1
        return done

    def any_of(self, rows, number):
        """Return one of some rows; of none, the step is none."""
        rows = list(rows if isinstance(rows, list) else rows.order_by("pk"))
        if not rows:
            raise NothingThere
        return one_of(rows, number)

    def open_visits(self):
        return Visit.objects.open().order_by("pk")

    def visits_to_tell_of(self):
        """Return all visits, those twice that are on a route."""
        routed = Visit.objects.filter(dispatch__isnull=False).order_by("pk")
        return [*routed, *Visit.objects.order_by("pk")]

    def write_down(self, amount=None):
        """Write down the records that came, and reckon what they took of the store."""
        for record in ApplicationRecord.objects.exclude(number__in=self.kept).order_by("number"):
            assert amount is None or record.product_amount == amount
            self.kept[record.number] = columns(record)
            wrong = record.amends
            if wrong is not None and wrong.lot_id:
                self.store[wrong.lot_id] += wrong.product_amount
            if record.lot_id and not record.void:
                self.store[record.lot_id] -= record.product_amount
                if wrong is None and record.visits.filter(dispatch__isnull=False).exists():
                    used = min(record.product_amount, self.aboard[record.lot_id])
                    self.aboard[record.lot_id] -= used
                self.is_told_where_below_zero(record)

    def is_told_where_below_zero(self, record):
        if self.store[record.lot_id] < 0:
            assert "count-needed" in codes(record), record.number

    @invariant()
    def the_store_is_what_its_ledger_says(self):
        sums = Counter()
        for lot, amount in StockEntry.objects.values_list("lot", "amount"):
            sums[lot] += amount
        for lot in Lot.objects.with_balance():
            assert lot.left() == lot.balance == sums[lot.pk] == self.store[lot.pk], str(lot)

    @invariant()
    def what_lies_on_shelf_and_truck_is_all_there_is(self):
        on_trucks = carried()
        for lot in Lot.objects.all():
            aboard = sum((each.amount for each in on_trucks.get(lot.pk, [])), Decimal(0))
            assert aboard == lot.left_at(self.locker) == self.aboard[lot.pk] >= 0, str(lot)
            assert lot.left_at(None) + aboard == lot.left()

    @invariant()
    def nothing_that_was_kept_is_lost_or_changed(self):
        book = {record.number: columns(record) for record in ApplicationRecord.objects.all()}
        assert book == self.kept
        entries = {entry_id_of(RECORD, number) for number in book}
        assert JournalEntry.objects.filter(entry_id__in=entries).count() == len(book)
        for _phone, event, reply in self.sent:
            row = FieldEvent.objects.get(event_id=event["event_id"])
            told = {receipt["number"] for receipt in reply["records"]}
            assert told <= set(row.records.values_list("number", flat=True))

    @invariant()
    def no_interval_is_broken_silently(self):
        live = ApplicationRecord.objects.current().select_related("product").order_by("number")
        for first, second in combinations(live, 2):
            if (first.planting_id, first.product_id) == (second.planting_id, second.product_id):
                days = abs((local_day(first) - local_day(second)).days)
                if days < first.product.minimum_interval_days:
                    assert TOO_SOON in codes(second), (first.number, second.number)

    @invariant()
    def a_visit_has_one_live_record_of_a_product_on_a_planting(self):
        for visit in Visit.objects.filter(records__isnull=False).distinct():
            seen = set()
            for record in visit.records.order_by("number"):
                last = current_of(record)
                named = (last.planting_id, last.product_id)
                assert last.void or named not in seen or "second-report" in codes(record)
                if not last.void:
                    seen.add(named)

    @invariant()
    def what_is_held_or_over_is_on_no_route(self):
        waiting = Visit.objects.filter(state=Visit.State.NEEDS_ACTION, dispatch__isnull=False)
        assert not waiting.filter(holds__isnull=False, holds__lifted_at__isnull=True).exists()
        cancelled = Visit.objects.filter(state=Visit.State.CANCELLED, dispatch__isnull=False)
        assert not cancelled.exists()
        for visit in waiting.select_related("dispatch"):
            assert visit.planned == visit.dispatch.day

    @invariant()
    def every_route_is_whole(self):
        for route in Dispatch.objects.prefetch_related("visits", "load"):
            positions = sorted(visit.position for visit in route.visits.all())
            assert positions == list(range(1, len(positions) + 1))
            assert positions
            load = {line.lot_id: line.amount for line in route.load.all()}
            assert load == load_of(route.legs)

    def journal_verifies(self):
        verdict = verify()
        assert verdict.count == 0, verdict.faults

    def routes_hold_what_they_say(self, day):
        """A day that was just handed out loads no more of a lot than the store has."""
        loads = Counter()
        for route in Dispatch.objects.filter(day=day).prefetch_related("load"):
            for line in route.load.all():
                loads[line.lot_id] += line.amount
        # A visit that is under way took its load before the store was counted down.
        under_way = Visit.objects.filter(state=Visit.State.IN_PROCESS, dispatch__isnull=False)
        if not under_way.exists():
            assert all(amount <= max(self.store[lot], 0) for lot, amount in loads.items())

    def no_interval_is_planned_short(self, visits, day):
        """Whoever was just sent comes no sooner than a label allows, or it is said."""
        told = what_stands_in_the_way(visits, self.today, day)
        for visit in visits:
            product = visit.rotation_week.product
            beds = set(visit.course.plantings.values_list("pk", flat=True))
            for other in self.uses_of(product, beds, visit):
                days = abs((day - other).days)
                if days < product.minimum_interval_days:
                    assert TOO_SOON in {each.code for each in told[visit.pk]}, (visit, day, other)

    def uses_of(self, product, beds, visit):
        """Return the days on which a product was or will be used on beds, by other visits."""
        done = ApplicationRecord.objects.current().filter(product=product, planting__in=beds)
        routes = Visit.objects.filter(
            state=Visit.State.NEEDS_ACTION,
            dispatch__isnull=False,
            rotation_week__product=product,
            course__plantings__in=beds,
        ).exclude(pk=visit.pk)
        return [*map(local_day, done), *routes.values_list("dispatch__day", flat=True)]


def columns(record):
    return {field.attname: getattr(record, field.attname) for field in record._meta.concrete_fields}


def codes(record):
    return [flag["code"] for flag in record.flags]


def local_day(record):
    return record.done_at.astimezone(THERE).date()


@pytest.fixture
def rotations(season, owner):
    """Soap, mist, soap; and mist alone."""
    made = []
    for name, products in (("both", "sms"), ("mist alone", "m")):
        rotation = Rotation.objects.create(
            name=name, pest=season.pest, plant_group="rose", composed_by=owner
        )
        for week, letter in enumerate(products, start=1):
            product = {"s": season.soap, "m": season.mist}[letter]
            rotation.weeks.create(
                week=week, product=product, rate=3, basis="fl oz/gal", purpose="knock down"
            )
        made.append(rotation)
    return made


def test_in_whatever_order_a_season_runs_its_promises_hold(
    season, clock, rotations, owner, dispatcher, technician
):
    people = {"owner": owner, "dispatcher": dispatcher, "technician": technician}
    people["applicator"] = season.applicator.user
    Season.world = (clock, season, people, rotations)

    run_state_machine_as_test(
        Season,
        settings=settings(
            max_examples=20 * DEPTH,
            stateful_step_count=40 if DEPTH == 1 else 60,
            derandomize=DEPTH == 1,
            database=None,
            suppress_health_check=list(HealthCheck),
        ),
    )

    # A season in which nothing happens would keep every promise.
    for happened in (
        "dispatch",
        "page 302",
        "phone complete",
        "correct",
        "agree",
        "hold",
        "void",
        "move stock",
    ):
        assert any(step.startswith(happened) for step in Season.reached), happened

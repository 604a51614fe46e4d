"""A plan worked on in steps: progress, stopping, a killed worker, and done once."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import ValidationError

from services.models import Dispatch, LoadLine, Planning, Visit
from services.plannings import ask_week, run_planning, running, stop, sweep_plannings
from services.plannings.running import LEASE, MOST_ATTEMPTS
from services.rules.routing import searching

MONDAY = date(2026, 7, 6)
DAWN = datetime(2026, 7, 6, 9, tzinfo=UTC)  # 05:00 at the yard


@pytest.fixture
def asked(visits, town_hall, crew, stock, owner, on_dawn):
    """Both first visits are to be dispatched in steps."""
    ids = first_visits().values_list("pk", flat=True)
    (planning,) = ask_week(monday=MONDAY, visit_ids=ids, by=owner, now=DAWN)
    return planning


@pytest.fixture
def on_dawn(monkeypatch):
    """Let every lease be counted from dawn."""
    monkeypatch.setattr("django.utils.timezone.now", lambda: DAWN)


@pytest.fixture
def two_by_two(monkeypatch):
    """Have every week searched two days at a time, with few tries."""
    monkeypatch.setattr(searching, "MOST_AT_ONCE", 0)
    monkeypatch.setattr(searching, "PAIR_ITERATIONS", 5)


class Killed(BaseException):
    """The worker's process was killed."""


@pytest.fixture
def killed_after(monkeypatch):
    """Kill the worker when it has kept so many steps."""

    def kill(steps):
        keep, kept = running._keep, []

        def keep_or_die(row, step, tours):
            keep(row, step, tours)
            kept.append(step.number)
            if len(kept) == steps:
                raise Killed

        monkeypatch.setattr(running, "_keep", keep_or_die)
        return kept

    return kill


def first_visits():
    return Visit.objects.filter(rotation_week__week=1).order_by("pk")


def snapshot():
    return [list(kind.objects.order_by("pk").values()) for kind in (Dispatch, Visit, LoadLine)]


def run(planning, now=DAWN):
    return run_planning(planning.pk, now=now)


def test_a_week_asked_for_is_dispatched(asked):
    done = run(asked)

    row = Planning.objects.get()
    assert done
    assert (row.done_at, row.leased_until, row.without_crew) == (DAWN, None, 0)
    assert not first_visits().filter(dispatch__isnull=True).exists()


def test_a_week_is_done_once(asked):
    run(asked)
    before = snapshot()

    assert not run(asked)
    assert snapshot() == before


def test_asked_twice_it_is_one_plan(asked, owner):
    ids = first_visits().values_list("pk", flat=True)

    (again,) = ask_week(monday=MONDAY, visit_ids=ids, by=owner, now=DAWN)

    assert again == asked


def test_each_step_is_kept_with_tours_that_make_a_plan(asked, two_by_two, killed_after):
    killed_after(3)

    with pytest.raises(Killed):
        run(asked)

    row = Planning.objects.get()
    assert (row.step, row.steps) == (2, 60)  # four rounds of the 15 pairs of six days
    assert sum(len(keys) for keys in row.tours["shifts"].values()) == 2
    assert not Dispatch.objects.exists()


def test_what_a_killed_worker_left_is_taken_up_where_it_was(
    asked, two_by_two, killed_after, monkeypatch
):
    killed_after(3)
    with pytest.raises(Killed):
        run(asked)
    monkeypatch.undo()
    seen = []
    keep = running._keep
    monkeypatch.setattr(
        running,
        "_keep",
        lambda row, step, tours: (seen.append(step.number), keep(row, step, tours)),
    )
    monkeypatch.setattr(searching, "MOST_AT_ONCE", 0)

    early = run(asked, now=DAWN + LEASE / 2)
    late = run(asked, now=DAWN + LEASE + timedelta(seconds=1))

    assert (early, late) == (False, True)
    assert seen[0] == 2
    assert not first_visits().filter(dispatch__isnull=True).exists()


def test_one_that_was_taken_over_writes_nothing(asked, monkeypatch):
    keep = running._keep

    def overtaken(row, step, tours):
        Planning.objects.update(attempts=99)
        keep(row, step, tours)

    monkeypatch.setattr(running, "_keep", overtaken)

    assert not run(asked)
    assert not Dispatch.objects.exists()


def test_a_plan_that_is_stopped_is_written_as_it_is(asked, two_by_two, monkeypatch):
    keep, kept = running._keep, []

    def stop_soon(row, step, tours):
        keep(row, step, tours)
        kept.append(step.number)
        stop(row, at=DAWN)

    monkeypatch.setattr(running, "_keep", stop_soon)

    run(asked)

    assert kept == [0]
    assert not first_visits().filter(dispatch__isnull=True).exists()
    assert Planning.objects.get().stopped_at == DAWN


def test_stopping_what_is_done_says_so(asked):
    run(asked)

    assert not stop(asked, at=DAWN)


def test_one_that_ends_unforeseen_is_given_up_after_five_attempts(asked):
    Planning.objects.update(attempts=MOST_ATTEMPTS, leased_until=DAWN)

    rung = sweep_plannings(DAWN + LEASE)

    row = Planning.objects.get()
    assert rung == 0
    assert row.failed_at
    assert row.last_error


def test_the_sweep_rings_for_what_nobody_has_in_hand(asked):
    assert sweep_plannings(DAWN) == 1
    run(asked)
    assert sweep_plannings(DAWN) == 0


def test_two_weeks_of_a_course_are_two_parts_of_one_plan(
    visits, crew, stock, oil_lot, owner, on_dawn
):
    Visit.objects.filter(pk=visits[1].pk).update(earliest=date(2026, 7, 11))
    ids = [visits[0].pk, visits[1].pk]
    (row,) = ask_week(monday=MONDAY, visit_ids=ids, by=owner, now=DAWN)

    run(row)

    assert row.arguments == {"waves": [ids[:1], ids[1:]]}
    days = Visit.objects.filter(pk__in=ids).order_by("pk").values_list("dispatch__day", flat=True)
    assert list(days) == [MONDAY, date(2026, 7, 11)]


def test_a_week_that_has_passed_is_not_asked_for(visits, crew, owner):
    with pytest.raises(ValidationError) as refused:
        ask_week(monday=MONDAY, visit_ids=[visits[0].pk], by=owner, now=DAWN + timedelta(days=7))

    assert refused.value.code == "past"

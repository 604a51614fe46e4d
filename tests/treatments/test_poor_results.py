"""What counts show of a visit lowers the kill that the forecast takes for its like."""

from datetime import date
from types import SimpleNamespace

import pytest

from treatments import forecasting
from treatments.forecasting import Measured, Spray, treatments_of
from treatments.rules.population import Kill

HEDGE = SimpleNamespace(habit="bed", species="Rosa hybrids")
POOR = Measured(date(2026, 7, 6), "Slow Mist", "6", percent=30, expected=75)


@pytest.fixture(autouse=True)
def products(monkeypatch):
    """Products are known here by name and group alone."""
    monkeypatch.setattr(forecasting, "groups_of", lambda product: product.group)
    monkeypatch.setattr(forecasting, "kill_of_product", lambda product: Kill(0.1, 0.9, 0.9, 0.9))


def spray(day, group):
    return Spray(date(2026, 7, day), SimpleNamespace(name=f"Of {group}", group=group))


def test_a_later_visit_of_the_group_counts_for_the_part_that_was_seen():
    # 30 of the 75 percent expected are two fifths
    (treatment,), notes = treatments_of([spray(13, "6")], HEDGE, [POOR])

    assert treatment.susceptibility == pytest.approx(0.4)
    assert [note.code for note in notes] == ["kill-lowered"]
    assert "40 percent of their usual kill" in notes[0].say()


@pytest.mark.parametrize(("day", "group"), [(6, "6"), (13, "20D"), (13, "")])
def test_the_visit_itself_and_other_groups_keep_their_kill(day, group):
    (treatment,), notes = treatments_of([spray(day, group)], HEDGE, [POOR])

    assert (treatment.susceptibility, notes) == (1.0, ())


def test_the_last_that_was_seen_counts():
    again = Measured(date(2026, 7, 20), "Slow Mist", "6", percent=60, expected=75)

    (treatment,), _notes = treatments_of([spray(27, "6")], HEDGE, [POOR, again])

    assert treatment.susceptibility == pytest.approx(0.8)


def test_what_rose_instead_of_falling_kills_nothing_more():
    rose = Measured(date(2026, 7, 6), "Slow Mist", "6", percent=-40, expected=75)

    (treatment,), _notes = treatments_of([spray(13, "6")], HEDGE, [rose])

    assert treatment.susceptibility == 0

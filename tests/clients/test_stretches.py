"""Stretches of a register: all rows once, in order, whichever way one walks."""

import pytest

from clients.models import Client
from clients.stretches import ROWS, Stretch, values_of


@pytest.fixture
def register(db):
    """A hundred and thirty clients, many of the same name."""
    Client.objects.bulk_create(Client(name=f"Invented {number % 7}") for number in range(130))
    return Client.objects.all()


def stretch(rows, falling=False, **asked):
    return Stretch(
        rows, {key: str(value) for key, value in asked.items()}, by=("name", "pk"), falling=falling
    )


@pytest.mark.parametrize("falling", [False, True])
def test_walking_to_the_end_and_back_shows_each_row_once_and_in_order(register, falling):
    signs = ["-name", "-pk"] if falling else ["name", "pk"]
    whole = list(register.order_by(*signs))
    pages = [stretch(register, falling)]
    while pages[-1].has_after:
        pages.append(stretch(register, falling, after=pages[-1].last_key()))

    assert [len(page) for page in pages] == [ROWS, ROWS, 30]
    assert [row for page in pages for row in page] == whole
    assert [page.has_before for page in pages] == [False, True, True]
    back = stretch(register, falling, before=pages[2].first_key())
    assert (list(back), back.has_before, back.has_after) == (list(pages[1]), True, True)
    first = stretch(register, falling, before=pages[1].first_key())
    assert (list(first), first.has_before, first.has_after) == (list(pages[0]), False, True)


@pytest.mark.parametrize("key", ["", "x", "-1", "²", "9" * 30, "123456789"])
def test_a_key_of_no_row_shows_the_beginning(register, key):
    page = stretch(register, after=key)

    assert list(page) == list(register.order_by("name", "pk")[:ROWS])
    assert (page.has_before, page.has_after) == (False, True)


def test_a_row_that_may_not_be_seen_is_no_place_to_begin(register):
    hidden = register.order_by("name", "pk")[10]

    page = stretch(register.exclude(pk=hidden.pk), after=hidden.pk)
    assert not page.has_before


def test_an_empty_register_has_no_neighbours(db):
    page = stretch(Client.objects.all())

    assert (list(page), page.has_before, page.has_after) == ([], False, False)
    assert (page.first_key(), page.last_key()) == (None, None)


def test_the_values_of_a_column_are_told_once_and_in_order(register, django_assert_num_queries):
    with django_assert_num_queries(8):
        assert values_of(register, "name") == [f"Invented {number}" for number in range(7)]

"""Pages on which nothing stands yet: what will stand there, and the step to it."""

import pytest
from django.urls import reverse

NOTHING_OFFERED = "There is nothing to choose from."


@pytest.fixture
def page_of(client, owner):
    """Return the words of a page of a book in which there is nobody but its owner."""
    client.force_login(owner)
    return lambda name: client.get(reverse(name)).content.decode()


@pytest.mark.parametrize(
    ("name", "says", "step"),
    [
        ("treatments:store", "It begins with a product", "treatments:products"),
        ("services:weather", "once there is a yard", "services:new_yard"),
        ("services:notices_due", "There is none in the next two weeks", None),
        ("services:returns", "The first record comes when", None),
    ],
)
def test_an_empty_page_says_what_will_stand_there_and_offers_the_step(page_of, name, says, step):
    page = page_of(name)

    _before, _mark, empty = page.partition('<div class="empty">')
    assert says in empty
    assert step is None or f'<a class="act" href="{reverse(step)}"' in empty


@pytest.mark.parametrize("name", ["treatments:receive", "services:enter_weather"])
def test_a_list_with_nothing_to_choose_from_says_so(page_of, name):
    assert page_of(name).count(NOTHING_OFFERED) == 1


def test_plantings_and_rotations_that_are_not_there_are_missed_each(page_of):
    assert page_of("services:new_course").count(NOTHING_OFFERED) == 2


def test_a_list_that_offers_something_does_not_say_so(page_of, soap):
    assert NOTHING_OFFERED not in page_of("treatments:receive")

"""What a person does at a page a program does through the API, or a reason stands beside it."""

import tomllib
from pathlib import Path

import pytest

from tests.architecture.addresses import METHODS, Address, addresses

PARITY = tomllib.loads(Path(__file__).with_name("parity.toml").read_text(encoding="utf-8"))
PROGRAMS, PEOPLE = PARITY["programs"], PARITY["people"]
BY_ROUTE = {address.route: address for address in addresses()}
SHORTEST_REASON = 20


def pages_that_take():
    """Return the pages that take something, by their address."""
    return {
        route
        for route, address in BY_ROUTE.items()
        if not route.startswith("api/") and address.rights.keys() & set(METHODS[1:])
    }


def counterpart(route) -> tuple[str, Address | None]:
    """Return the method and the address by which a program does the same."""
    method, _space, place = PROGRAMS[route].partition(" ")
    return method, BY_ROUTE.get(place)


def test_whatever_a_page_takes_a_program_sends_or_a_reason_stands_beside_it():
    assert pages_that_take() == PROGRAMS.keys() | PEOPLE.keys()
    assert not PROGRAMS.keys() & PEOPLE.keys()


@pytest.mark.parametrize("route", PROGRAMS)
def test_who_may_do_it_at_the_page_may_do_it_by_a_program(route):
    method, there = counterpart(route)

    assert there is not None, f"{PROGRAMS[route]} is no address of the API"
    missing = set(BY_ROUTE[route].allowed("post")) - set(there.allowed(method))
    assert not missing, f"{PROGRAMS[route]} refuses {sorted(missing)}"


@pytest.mark.parametrize("route", PEOPLE)
def test_what_people_alone_do_has_a_reason(route):
    assert len(PEOPLE[route]) >= SHORTEST_REASON

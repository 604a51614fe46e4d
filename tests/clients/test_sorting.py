"""Lists sort by the head of a column, in stretches and pages as before."""

import re
from decimal import Decimal
from types import SimpleNamespace

import pytest

from clients.access import Role
from clients.models import Property
from clients.sorting import Head, Order
from clients.stretches import ROWS
from treatments.storekeeping import dispose

COLUMNS = {"name": "name", "client": "client__name"}
# Each list that sorts, by the columns of its head.
LISTS = {
    "/properties/": ["name", "client", "city"],
    "/records/": ["number", "done", "product", "who"],
    "/products/": ["name", "registration", "signal"],
    "/rotations/": ["name", "pest", "composed"],
    "/leftovers/": ["on", "product", "gallons", "done"],
    "/store/disposals/": ["on", "product"],
    "/spills/": ["on", "place", "product"],
    "/pests/": ["name", "scientific", "eppo"],
    "/ingredients/": ["name", "irac", "frac", "days"],
    "/estimates/": ["number", "client", "rotation", "valid", "total"],
}
# Two lists on one page, both small enough to be sorted in memory.
ON_PEOPLE = ["person", "role", "crew", "language", "holder", "certificate", "where", "expires"]
EVERY_HEAD = [(path, name) for path, names in LISTS.items() for name in names]


@pytest.mark.parametrize(
    ("asked", "column", "falling"),
    [
        ("client", "client__name", False),
        ("-client", "client__name", True),
        ("", "name", False),
        ("password", "name", False),
        ("--client", "name", False),
        ("client__phone", "name", False),
    ],
)
def test_a_list_is_sorted_by_the_columns_of_its_head_alone(asked, column, falling):
    order = Order({"sort": asked}, COLUMNS, usual="name")

    assert (order.column, order.falling) == (column, falling)


def test_a_head_turns_the_order_round_and_another_begins_anew():
    order = Order({"sort": "name"}, COLUMNS, usual="name")

    assert order.head("name") == Head("-name", "ascending")
    assert order.head("client") == Head("client", "none")
    assert Order({"sort": "-name"}, COLUMNS, usual="name").head("name").sort == "name"


def test_every_head_sorts_both_ways(book, client, soap_lot, owner):
    dispose(soap_lot, amount=Decimal(1), by=owner, note="leaked")
    client.force_login(book.people[Role.OWNER])

    for path, name in EVERY_HEAD:
        assert heads_of(client.get(path, {"sort": name})) == [(f"-{name}", "ascending")], path
        assert heads_of(client.get(path, {"sort": f"-{name}"})) == [(name, "descending")], path


@pytest.mark.parametrize("name", ON_PEOPLE)
def test_people_and_certificates_sort_both_ways_each_by_itself(name, book, client):
    client.force_login(book.people[Role.OWNER])

    rising, falling = (client.get("/people/", {"sort": sort}) for sort in (name, f"-{name}"))

    assert (f"-{name}", "ascending") in heads_of(rising)
    assert (name, "descending") in heads_of(falling)
    assert len(heads_of(rising)) == 2  # the other list stands in its usual order


def test_a_short_list_is_sorted_without_regard_to_case_with_what_is_empty_last():
    rows = [SimpleNamespace(name=name) for name in ("beech", "", "Ash", "cedar")]

    for sort, told in (
        ("name", ["Ash", "beech", "cedar", ""]),
        ("-name", ["cedar", "beech", "Ash", ""]),
    ):
        order = Order({"sort": sort}, {"name": "name"}, usual="name")
        assert [row.name for row in order.listed(rows)] == told


def heads_of(answer):
    """Return the heads that say how the table is sorted: what a press sorts by, and how it is."""
    assert answer.status_code == 200
    told = re.findall(r'aria-sort="(\w+)"><a href="\?sort=([\w-]+)', answer.content.decode())
    return [(sort, how) for how, sort in told]


@pytest.fixture
def many_places(reading_society):
    """A hundred and twenty properties in seven towns."""
    return Property.objects.bulk_create(
        Property(
            client=reading_society,
            name=f"Place {number:03}",
            street=f"{number} Main Street",
            city=f"Town {number * 5 % 7}",
            postal_code="00000",
            jurisdiction="US-PA",
        )
        for number in range(120)
    )


@pytest.mark.parametrize("sort", ["city", "-city", "client", "-name"])
def test_a_sorted_register_is_walked_once_through_and_back(sort, client, owner, many_places):
    client.force_login(owner)
    forth, step = [], f"?sort={sort}"
    while step:
        answer = client.get(f"/properties/{step}")
        forth.append([place.pk for place in answer.context["page"]])
        step = link("next", answer)
    back, step = [], link("prev", answer)
    while step:
        answer = client.get(f"/properties/{step}")
        back.append([place.pk for place in answer.context["page"]])
        step = link("prev", answer)

    seen = [pk for part in forth for pk in part]
    assert len(seen) == len(set(seen)) == Property.objects.count() > 2 * ROWS
    ordered = Order({"sort": sort}, {"city": "city", **COLUMNS}, usual="name")
    assert seen == [place.pk for place in ordered.sorted(Property.objects.all())]
    assert back[-1] == forth[0]


def link(rel, answer):
    """Return where a link of a page leads, or nothing."""
    found = re.search(rf'rel="{rel}" href="([^"]+)"', answer.content.decode())
    return found and found[1].replace("&amp;", "&")

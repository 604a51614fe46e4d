"""How long lists of the API are divided, and how far they are counted."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from clients.models import Client
from services.project import paging

CLIENTS = "/api/v1/clients/"
pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def five_clients(api, owner, monkeypatch):
    """Five clients, of whom three are counted."""
    monkeypatch.setattr(paging, "COUNTED", 3)
    Client.objects.bulk_create(Client(name=f"Client {number}") for number in range(5))
    api.force_authenticate(owner)


def test_what_ends_on_the_page_is_told_without_a_count(api):
    with CaptureQueriesContext(connection) as seen:
        answer = api.get(CLIENTS).data

    assert (answer["count"], len(answer["results"]), answer["next"]) == (5, 5, None)
    assert not [each for each in seen.captured_queries if "COUNT(" in each["sql"]]


@pytest.mark.parametrize(("kept", "count"), [(2, 2), (3, 3), (4, None), (5, None)])
def test_what_is_more_than_is_counted_is_no_number(api, kept, count):
    Client.objects.filter(pk__in=list(Client.objects.values_list("pk", flat=True)[kept:])).delete()

    answer = api.get(CLIENTS, {"limit": 1}).data

    assert answer["count"] == count
    assert answer["next"] is not None


def test_how_many_there_are_is_told_where_it_is_asked(api):
    assert api.get(CLIENTS, {"limit": 1, "count": "all"}).data["count"] == 5


def test_who_follows_next_reads_each_once_and_learns_how_many_there_were(api):
    asked, seen, answer = f"{CLIENTS}?limit=2", [], None
    while asked:
        answer = api.get(asked).data
        seen += [row["name"] for row in answer["results"]]
        asked = answer["next"]

    assert sorted(seen) == [f"Client {number}" for number in range(5)]
    assert answer["count"] == 5
    assert answer["previous"].endswith("limit=2&offset=2")


@pytest.mark.parametrize("offset", [5, 6, 10**30])
def test_nothing_stands_beyond_the_end(api, offset):
    answer = api.get(CLIENTS, {"offset": offset, "count": "all"}).data

    assert (answer["count"], answer["results"], answer["next"]) == (5, [], None)

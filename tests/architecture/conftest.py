"""The people of a book as browsers that are signed in."""

import pytest
from django.core.cache import cache
from django.test import Client

from clients.access import Role

ROLES = [*Role.values, "client", "stranger"]


@pytest.fixture
def visitor(book):
    """Give the browser of a role: signed in, with a client's link opened, or neither."""
    cache.clear()  # nobody has asked too often yet

    def browser(role):
        client = Client(raise_request_exception=False)
        if role in Role.values:
            client.force_login(book.people[Role(role)])
        if role == "client":
            client.get(f"/c/{book.token}")
        return client

    return browser

"""The people of a book as browsers that are signed in."""

import pytest
from django.test import Client

from clients.access import Role
from services.field.auth import COOKIE

ROLES = [*Role.values, "client", "phone", "stranger"]


@pytest.fixture
def visitor(book):
    """Give the browser of a role: signed in, with a link opened, of a phone, or none of these."""

    def browser(role):
        client = Client(raise_request_exception=False)
        if role in Role.values:
            client.force_login(book.people[Role(role)])
        if role == "client":
            client.get(f"/c/{book.token}")
        if role == "phone":
            client.cookies[COOKIE] = book.phone_token
            client.defaults["HTTP_X_PHONE"] = str(book.own["device_id"])
        return client

    return browser

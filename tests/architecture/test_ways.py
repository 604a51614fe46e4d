"""Every way that a page offers is open to who reads the page."""

import re
from html import unescape
from urllib.parse import urlsplit

import pytest
from django.urls import resolve
from django.urls.exceptions import Resolver404

from clients.access import Role
from tests.architecture.addresses import addresses, readable

pytestmark = [pytest.mark.django_db, pytest.mark.once]

LINK = re.compile(r'<a [^>]*?href="([^"#]+)')
OPEN_TO = {each.route: set(each.allowed("get")) for each in addresses()}


def pages_of(role, things):
    """Return the addresses that a role may open."""
    return [each.filled(things) for each in addresses() if role in each.allowed("get")]


def shut_ways(page, role):
    """Yield the ways of a page that its reader may not go, as the matrix has it."""
    for link in LINK.findall(page):
        path = urlsplit(unescape(link)).path
        if not path.startswith("/"):
            continue
        try:
            route = readable(resolve(path).route)
        except Resolver404:
            continue
        if route in OPEN_TO and role not in OPEN_TO[route]:
            yield route


@pytest.mark.parametrize("role", Role.values)
def test_no_page_offers_a_way_that_its_reader_may_not_go(role, visitor, things):
    browser, shut = visitor(role), set()
    for path in pages_of(role, things):
        answer = browser.get(path)
        if answer.status_code == 200 and answer["Content-Type"].startswith("text/html"):
            shut |= {
                f"{path} leads to {route}" for route in shut_ways(answer.content.decode(), role)
            }

    assert not shut, "\n".join(sorted(shut))

"""The address of each of many pages, beside what Django looks up for it."""

import pytest
from django.urls import reverse, set_script_prefix

from services.showing.addresses import pages_of


@pytest.mark.parametrize("prefix", ["/", "/book-10/"])
@pytest.mark.parametrize("name", ["services:course", "services:visit_notices", "clients:access"])
def test_the_address_is_the_one_that_is_looked_up(name, prefix):
    set_script_prefix(prefix)
    try:
        page = pages_of(name)
        assert [page(number) for number in (7, 100)] == [
            reverse(name, args=[number]) for number in (7, 100)
        ]
    finally:
        set_script_prefix("/")

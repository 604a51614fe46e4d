"""What is loaded for `all_of`, beside what Django reads of the same relation."""

import pytest

from clients.loaded import all_of, note
from clients.models import Property


@pytest.fixture
def places(rose_bed):
    """Two properties, the first open on two days of the week."""
    place = rose_bed.property
    for weekday in (3, 1):
        place.access_windows.create(weekday=weekday, opens="07:00", closes="20:00")
    other = Property.objects.get(pk=place.pk)
    other.pk, other.name = None, "Next door"
    other.save(force_insert=True)
    return list(Property.objects.order_by("pk"))


def test_what_is_noted_is_what_the_relation_holds_in_its_order(places, django_assert_num_queries):
    with django_assert_num_queries(1):
        note(places, "access_windows")
        noted = [list(all_of(place, "access_windows")) for place in places]

    assert noted == [list(place.access_windows.all()) for place in places]
    assert [len(each) for each in noted] == [2, 0]


def test_nothing_is_asked_for_no_rows(django_assert_num_queries, db):
    with django_assert_num_queries(0):
        note([], "access_windows")

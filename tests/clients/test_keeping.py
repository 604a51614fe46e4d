"""Two people who change the same thing do not overwrite each other."""

import pytest
from django.core.exceptions import ValidationError

from clients.keeping import Stale, differences, keep
from clients.models import Client


def test_a_new_thing_is_kept_with_its_first_version(db):
    made = keep(Client(name="Garden Club"))

    assert (made.pk is not None, made.version) == (True, 1)


def test_each_change_raises_the_version(reading_society):
    reading_society.phone = "555-0199"

    keep(reading_society, version=1)

    reading_society.refresh_from_db()
    assert (reading_society.phone, reading_society.version) == ("555-0199", 2)


def test_the_second_of_two_is_told_and_changes_nothing(reading_society):
    mine, theirs = (Client.objects.get(pk=reading_society.pk) for _ in range(2))
    theirs.phone, mine.phone = "555-0101", "555-0102"
    keep(theirs, version=1)

    with pytest.raises(Stale) as stale:
        keep(mine, version=1)

    assert stale.value.current.phone == "555-0101"
    assert Client.objects.get().phone == "555-0101"


def test_a_change_without_a_version_is_stale(reading_society):
    with pytest.raises(Stale):
        keep(reading_society, version=None)


def test_what_breaks_a_rule_keeps_its_version(reading_society):
    reading_society.name = ""

    with pytest.raises(ValidationError):
        keep(reading_society, version=1)

    assert Client.objects.get().version == 1


def test_differences_say_what_the_other_version_holds(reading_society):
    theirs = Client.objects.get()
    theirs.phone = "555-0101"

    assert differences(reading_society, theirs, ["name", "phone"]) == ["telephone: 555-0101"]

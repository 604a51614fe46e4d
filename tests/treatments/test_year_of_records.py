"""What is asked of a year's records is found among their kinds as well as one by one."""

from datetime import UTC, date, datetime, timedelta
from random import Random

import pytest
from django.db.models import CharField, TextField

from treatments.models import ApplicationRecord, CopyGiven
from treatments.recording import alike, amend_application, record_application, void_application
from treatments.recording.alike import AllSeen, PartSeen
from treatments.recording.clocks import check_clocks
from treatments.recording.fields import COLUMNS
from treatments.recording.flagging import flag_of
from treatments.rulebook import confirmed_facts
from treatments.rules.units import Basis
from treatments.views import year_of_records
from treatments.views.year_of_records import Year, row_of

NOW = datetime(2026, 12, 1, 12, tzinfo=UTC)
SINCE = NOW - timedelta(days=365)
PLACES = {
    "US-CA": "America/Los_Angeles",
    "US-ID": "America/Boise",
    "US-MN": "America/Chicago",
    "US-NJ": "America/New_York",
    "US-NY": "America/New_York",
    "US-PA": "America/New_York",
    "US-TX": "America/Chicago",
    "US-WA": "America/Los_Angeles",
}
FIELDS = {each.attname: each for each in ApplicationRecord._meta.concrete_fields}
MAY_BE_BLANK = {
    name: None if FIELDS[name].null else ""
    for columns in COLUMNS.values()
    for name in columns
    if FIELDS[name].null or isinstance(FIELDS[name], CharField | TextField)
}
WAITS = [timedelta(minutes=5), timedelta(hours=25), timedelta(days=2), timedelta(days=40)]


@pytest.fixture
def year(stated, owner):
    """Three hundred records of a year, each with something else about it."""
    first = record_application(**stated, now=datetime(2026, 7, 6, 22, 50, tzinfo=UTC))
    chance = Random(7)
    made = [_varied(first, number, chance) for number in range(2, 302)]
    ApplicationRecord.objects.bulk_create(made)
    given = [each for each in made if chance.random() < 0.7]
    CopyGiven.objects.bulk_create(
        CopyGiven(
            record=each,
            given_on=each.done_at.date() + timedelta(days=chance.choice([0, 29, 31, 32, 60, 90])),
            way=CopyGiven.Way.HAND,
            given_by=owner,
        )
        for each in given
    )
    for number in range(10, 40):
        _correct(ApplicationRecord.objects.get(number=number), chance, owner)
    old = _varied(first, 1_001, chance)
    old.done_at = old.started_at = SINCE - timedelta(days=1)
    old.save()
    return ApplicationRecord.objects.for_user(owner).current()


def _correct(record, chance, owner):
    """Amend a record or have it be void; a third of what amends is amended again."""
    why = {"reason": "an invented correction", "by": owner, "now": NOW}
    if chance.random() < 0.3:
        void_application(record, **why)
        return
    second = amend_application(record, **why, note="told anew")
    if chance.random() < 0.3:
        amend_application(second, **why, note="told once more")


def _varied(first, number, chance):
    """Return a copy of a record with other values, some of its fields blank, and its own flags."""
    columns = {
        name: field.value_from_object(first)
        for name, field in FIELDS.items()
        if name not in {"id", "number", "event_id"}
    }
    record = ApplicationRecord(**columns, number=number)
    record.jurisdiction = chance.choice(sorted(PLACES))
    record.time_zone = PLACES[record.jurisdiction]
    record.rules_checked_by = ""
    record.restricted_use = chance.random() < 0.6
    record.production_site = chance.random() < 0.2
    record.rate_basis = chance.choice(
        [Basis.FLUID_OUNCES_PER_GALLON, Basis.FLUID_OUNCES_PER_1000_SQ_FT]
    )
    for name, blank in MAY_BE_BLANK.items():
        if chance.random() < 0.02:
            setattr(record, name, blank)
        elif getattr(record, name) == "":
            setattr(record, name, chance.choice(["told"] * 40 + ["", "None"]))
    record.site_address = chance.choice(
        [record.site_address, record.customer_address, record.customer_address.upper()]
    )
    record.done_at = NOW - timedelta(days=chance.randrange(1, 360), minutes=chance.randrange(1440))
    record.started_at = record.done_at - timedelta(hours=1)
    record.captured_at = record.done_at
    record.received_at = record.done_at + chance.choice(WAITS)
    record.flags = [flag_of(each) for each in check_clocks(record, record.received_at)]
    return record


def numbers(rows):
    return sorted(row.record.number for row in rows)


@pytest.mark.parametrize("seen", [AllSeen, PartSeen])
def test_the_kinds_of_records_tell_what_each_of_them_would(year, monkeypatch, seen):
    monkeypatch.setattr(year_of_records, "SHOWN", 1_000)
    monkeypatch.setattr(alike, "AT_ONCE", 2)
    confirmed = confirmed_facts()
    by_kind = Year(seen(year, SINCE), confirmed, NOW)

    standing = year.filter(done_at__gte=SINCE).select_related("copy_given")
    rows = [row_of(each, NOW, confirmed) for each in standing]

    asked = [row for row in rows if row.copy.duties]
    late = [row for row in asked if row.copy.given and row.copy.is_late()]
    given = [row for row in asked if row.copy.given]
    assert numbers(by_kind.unwritten()) == numbers(row for row in rows if row.missing)
    assert numbers(by_kind.late()) == numbers(r for r in rows if r.is_late and not r.missing)
    assert numbers(by_kind.copies_to_give()) == numbers(r for r in asked if r.copy.is_open())
    assert numbers(by_kind.copies_late()) == numbers(late)
    assert by_kind.copies_given() == len(given)
    found = (by_kind.unwritten(), by_kind.late(), by_kind.copies_to_give(), late)
    assert all(len(each) > 5 for each in found), [len(each) for each in found]


@pytest.mark.parametrize("seen", [AllSeen, PartSeen])
def test_how_long_records_are_kept_is_told_by_the_first_and_the_last(year, seen):
    keepings = Year(seen(year, SINCE), confirmed_facts(), NOW).keepings()

    standing = year.filter(done_at__gte=SINCE)
    assert sum(each.number for each in keepings) == standing.count() < 301
    for each in keepings:
        assert each.first_ends <= each.last_ends
    # [PA-128-35] three years, from the day of the application
    days = [
        each.done_at.date()
        for each in standing.filter(jurisdiction="US-PA", restricted_use=False)
        if each.done_at.hour > 5  # the same day there
    ]
    kept = next(each for each in keepings if each.place == "Pennsylvania")
    ends = {date(day.year + 3, day.month, day.day) for day in days}
    assert kept.first_ends <= min(ends)
    assert kept.last_ends >= max(ends)


def test_a_book_of_one_kind_is_told_by_one_record(stated, django_assert_num_queries):
    first = record_application(**stated, now=datetime(2026, 7, 6, 22, 50, tzinfo=UTC))
    names = {
        name: field.value_from_object(first)
        for name, field in FIELDS.items()
        if name not in {"id", "number"}
    }
    ApplicationRecord.objects.bulk_create(
        ApplicationRecord(**names, number=number) for number in range(2, 500)
    )
    confirmed = confirmed_facts()

    with django_assert_num_queries(5):  # the kinds, an example of each, three numbers
        year = Year(AllSeen(ApplicationRecord.objects.all(), SINCE), confirmed, NOW)
        assert [each.number for each in year.keepings()] == [499]

"""The pages of counts."""

from datetime import UTC, datetime, timedelta

import pytest

from clients.access import Reach
from treatments.models import ScoutingCount

FIRST = datetime(2026, 7, 1, 14, 0, tzinfo=UTC)


@pytest.fixture
def typed(spider_mite):
    """A count as it is typed, at ten in the morning by the clock of the place."""
    return {
        "pest": spider_mite.pk,
        "scouted_at": "2026-07-01T10:00",
        "leaves_looked_at": "20",
        "leaves_infested": "12",
        "eggs": "40",
        "larvae": "10",
        "nymphs": "50",
        "adults": "40",
        "predators": "2",
    }


def count(planting, pest, weeks, adults):
    return ScoutingCount.objects.create(
        planting=planting,
        pest=pest,
        scouted_at=FIRST + timedelta(weeks=weeks),
        leaves_looked_at=20,
        leaves_infested=10,
        adults=adults,
    )


def test_a_stranger_is_asked_to_sign_in(client, rose_bed):
    assert client.get(f"/plantings/{rose_bed.pk}/counts/").status_code == 302


def test_a_count_is_entered_by_the_clock_of_the_place(client, dispatcher, rose_bed, typed):
    client.force_login(dispatcher)

    answer = client.post(f"/plantings/{rose_bed.pk}/counts/new/", typed)

    assert answer.status_code == 302
    kept = ScoutingCount.objects.get()
    assert kept.scouted_at == FIRST  # eastern daylight time is four hours behind UTC
    assert kept.scouted_by == dispatcher


def test_the_same_count_sent_twice_is_kept_once(client, dispatcher, rose_bed, typed):
    client.force_login(dispatcher)

    client.post(f"/plantings/{rose_bed.pk}/counts/new/", typed)
    client.post(f"/plantings/{rose_bed.pk}/counts/new/", typed)

    assert ScoutingCount.objects.count() == 1


def test_more_infested_leaves_than_leaves_are_refused(client, dispatcher, rose_bed, typed):
    client.force_login(dispatcher)

    answer = client.post(
        f"/plantings/{rose_bed.pk}/counts/new/", {**typed, "leaves_infested": "21"}
    )

    assert answer.status_code == 422
    assert "Not more leaves can be infested" in answer.content.decode()
    assert 'value="21"' in answer.content.decode()


def test_an_inspector_does_not_see_counts(client, inspector, rose_bed):
    client.force_login(inspector)

    assert client.get(f"/plantings/{rose_bed.pk}/counts/").status_code == 403


def test_a_technician_counts_only_within_reach(client, technician, rose_bed, typed, monkeypatch):
    client.force_login(technician)
    address = f"/plantings/{rose_bed.pk}/counts/new/"
    assert client.post(address, typed).status_code == 404

    monkeypatch.setattr(Reach, "properties_of", lambda user: [rose_bed.property_id])

    assert client.post(address, typed).status_code == 302


@pytest.mark.parametrize(("adults", "word"), [(99, "under"), (100, "over")])
def test_a_count_is_held_against_the_threshold(
    client, dispatcher, rose_bed, spider_mite, adults, word
):
    # five a leaf on twenty leaves is a hundred; at the threshold counts as over
    count(rose_bed, spider_mite, 0, adults)
    client.force_login(dispatcher)

    page = client.get(f"/plantings/{rose_bed.pk}/counts/").content.decode()

    assert (">over</span>" in page) == (word == "over")


def test_the_fall_since_the_first_count_is_told(client, dispatcher, rose_bed, spider_mite):
    count(rose_bed, spider_mite, 0, 200)
    count(rose_bed, spider_mite, 2, 50)
    client.force_login(dispatcher)

    page = client.get(f"/plantings/{rose_bed.pk}/counts/").content.decode()

    assert "-75 %" in page
    assert "fell by 75 % since the first count" in page


def test_a_planting_without_counts_says_what_will_stand_there(client, dispatcher, rose_bed):
    client.force_login(dispatcher)

    page = client.get(f"/plantings/{rose_bed.pk}/counts/").content.decode()

    assert "Enter the first count" in page


def test_many_counts_ask_as_often_as_one(client, dispatcher, rose_bed, spider_mite, count_queries):
    client.force_login(dispatcher)
    count(rose_bed, spider_mite, 0, 200)
    once = count_queries(f"/plantings/{rose_bed.pk}/counts/")
    for week in range(1, 5):
        count(rose_bed, spider_mite, week, 100)

    assert count_queries(f"/plantings/{rose_bed.pk}/counts/") == once

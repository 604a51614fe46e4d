"""The client's page behind a link, and the office's page where links are made and taken back."""

from datetime import UTC, datetime, timedelta

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client as Browser
from django.urls import reverse

from clients.models import Client
from services.completing import ApplicationReport, complete_visit
from services.models import ClientLink, Visit
from services.telling import make_link, revoke_link
from treatments.models import ScoutingCount

NOW = datetime(2026, 7, 6, 23, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def nobody_has_tried():
    """Forget how often an address has asked, and stop the clock."""
    cache.clear()
    with time_machine.travel(NOW, tick=False):
        yield


@pytest.fixture
def made(visits, rose_bed, soap_lot, applicator):
    """The first visit, made an hour ago."""
    begun = NOW - timedelta(hours=2)
    complete_visit(
        visits[0],
        reports=[ApplicationReport(rose_bed, soap_lot, 7, 3)],
        started_at=begun,
        done_at=begun + timedelta(hours=1),
        applicator=applicator,
        by=applicator.user,
        posted_at=begun + timedelta(hours=1),
    )
    return Visit.objects.get(pk=visits[0].pk)


@pytest.fixture
def token(reading_society):
    return make_link(reading_society, now=NOW)


def letter(client, token):
    return client.get(f"/c/{token}", follow=True)


def test_a_link_leads_to_an_address_without_the_token(client, token):
    answer = client.get(f"/c/{token}")

    assert answer.status_code == 302
    assert answer["Location"] == "/client/"
    cookie = answer.cookies["client"]
    assert token not in cookie.value
    assert cookie["httponly"]
    assert cookie["samesite"] == "Lax"
    assert cookie["max-age"] == 30 * 60


def test_the_letter_says_first_when_it_is_safe(client, token, made):
    page = letter(client, token).content.decode()

    # 12 hours of the label after 18:00 in Pennsylvania, by arithmetic
    assert "Tue Jul 7, 6:00 am" in page
    assert "until the spray has dried" in page
    assert page.index("Tue Jul 7, 6:00 am") < page.index("What was done")


def test_the_letter_says_what_was_done_and_what_comes(client, token, made):
    page = letter(client, token).content.decode()

    for promised in [
        "Reading Society",
        'Quiet Soap (potassium salts of fatty acids <span class="unbroken">49 %</span>, EPA number',
        '<span class="unbroken">0-101</span>), against',
        '<span class="unbroken">1-800-222-1222</span>',
        "Monday, July 13, 2026",
        reverse("services:client_summary", args=[made.pk]),
        "1-800-222-1222",
    ]:
        assert promised in page


def test_once_the_hours_are_over_the_letter_says_so(client, token, made):
    with time_machine.travel(NOW + timedelta(days=1), tick=False):
        page = letter(client, token).content.decode()

    assert "The time of keeping off ended on" in page


def test_the_letter_is_in_the_clients_language(client, token, made, reading_society):
    reading_society.language = "es"
    reading_society.save()

    assert 'lang="es"' in letter(client, token).content.decode()


@pytest.mark.parametrize(
    ("path", "policy"), [("/c/{token}", "no-referrer"), ("/client/", "same-origin")]
)
def test_no_address_is_passed_on_kept_or_listed(client, token, path, policy):
    client.get(f"/c/{token}")

    answer = client.get(path.format(token=token))

    assert answer["Referrer-Policy"] == policy
    assert "no-store" in answer["Cache-Control"]
    assert "noindex" in answer["X-Robots-Tag"]


def test_reading_changes_nothing(client, token, made):
    def book():
        return [list(kind.objects.order_by("pk").values()) for kind in (Visit, ClientLink)]

    before = book()

    letter(client, token)
    client.get(reverse("services:client_summary", args=[made.pk]))

    assert book() == before


@pytest.mark.parametrize("path", ["/c/x", "/client/"])
def test_nothing_can_be_posted(client, path):
    assert client.post(path).status_code == 405


def opened(client, token):
    client.get(f"/c/{token}")
    return client


def test_a_client_says_how_to_be_written_to(client, token, reading_society):
    answer = opened(client, token).post("/client/wishes/", {"language": "es"}, follow=True)

    reading_society.refresh_from_db()
    assert (reading_society.language, reading_society.wants_notice) == ("es", False)
    assert reading_society.version == 2
    assert 'lang="es"' in answer.content.decode()


def test_a_language_that_nobody_speaks_here_changes_nothing(client, token, reading_society):
    answer = opened(client, token).post("/client/wishes/", {"language": "xx"})

    reading_society.refresh_from_db()
    assert answer.status_code == 422
    assert (reading_society.language, reading_society.version) == ("en", 1)


def test_wishes_are_sent_as_a_form_of_the_own_page_only(token, reading_society):
    strict = opened(Browser(enforce_csrf_checks=True), token)

    assert strict.get("/client/wishes/").status_code == 405
    assert strict.post("/client/wishes/", {"language": "es"}).status_code == 403


def test_an_unknown_link_is_not_there(client, token):
    assert client.get("/c/" + "x" * 43).status_code == 404


def test_without_a_link_the_page_is_not_there(client):
    assert client.get("/client/").status_code == 404


def test_a_cookie_that_somebody_wrote_opens_nothing(client, token):
    client.cookies["client"] = "1"

    assert client.get("/client/").status_code == 404


@pytest.mark.parametrize("end", ["expired", "revoked"])
def test_a_link_that_has_ended_names_only_business_and_telephone(
    client, token, business, made, end
):
    business.phone = "555-0100"
    business.save()
    link = ClientLink.objects.get()
    if end == "revoked":
        revoke_link(link, at=NOW)
    else:
        ClientLink.objects.update(expires_at=NOW)

    answer = client.get(f"/c/{token}")

    page = answer.content.decode()
    assert answer.status_code == 410
    assert business.name in page
    assert "555-0100" in page
    assert "Reading Society" not in page
    assert "Rose bed" not in page


def test_a_link_taken_back_closes_the_page_that_is_open(client, token):
    letter(client, token)
    revoke_link(ClientLink.objects.get(), at=NOW)

    assert client.get("/client/").status_code == 410


def test_the_page_closes_after_half_an_hour(client, token):
    letter(client, token)

    with time_machine.travel(NOW + timedelta(minutes=31), tick=False):
        assert client.get("/client/").status_code == 404


def test_a_client_gets_the_own_summaries_only(client, token, made, second_course):
    theirs = second_course.visits.get(rotation_week__week=1)
    Visit.objects.filter(pk=theirs.pk).update(
        state=Visit.State.COMPLETED, completed_at=NOW - timedelta(hours=1)
    )
    letter(client, token)

    own = client.get(reverse("services:client_summary", args=[made.pk]))
    other = client.get(reverse("services:client_summary", args=[theirs.pk]))

    assert own.content.startswith(b"%PDF")
    assert "no-store" in own["Cache-Control"]
    assert other.status_code == 404


def test_the_page_of_another_client_does_not_show(client, made, second_course):
    other = make_link(Client.objects.get(name="Town of Nowhere"), now=NOW)

    page = letter(client, other).content.decode()

    assert "Reading Society" not in page
    assert "Library" not in page


def test_counts_are_drawn_for_the_client(client, token, rose_bed, spider_mite, owner):
    ScoutingCount.objects.create(
        planting=rose_bed,
        pest=spider_mite,
        scouted_at=NOW - timedelta(days=3),
        leaves_looked_at=20,
        leaves_infested=8,
        nymphs=30,
    )
    page = letter(client, token).content.decode()

    drawing = client.get(reverse("services:client_season", args=[rose_bed.pk, spider_mite.pk]))

    assert "<svg" in page
    assert drawing["Content-Type"] == "image/svg+xml"
    assert drawing["Referrer-Policy"] == "same-origin"


def test_more_than_thirty_tries_a_minute_are_refused(client, db):
    answers = [client.get(f"/c/{number}").status_code for number in range(31)]

    assert answers == [404] * 30 + [429]


def test_a_minute_later_one_may_try_again(client, token):
    for number in range(31):
        client.get(f"/c/{number}")

    with time_machine.travel(NOW + timedelta(minutes=1), tick=False):
        assert client.get(f"/c/{token}").status_code == 302


def test_the_letter_asks_as_often_for_two_visits_as_for_one(
    client, token, made, visits, rose_bed, oil_lot, applicator, count_queries
):
    letter(client, token)
    alone = count_queries("/client/")
    complete_visit(
        visits[1],
        reports=[ApplicationReport(rose_bed, oil_lot, 7, 3)],
        started_at=NOW - timedelta(minutes=40),
        done_at=NOW - timedelta(minutes=10),
        applicator=applicator,
        by=applicator.user,
    )

    assert count_queries("/client/") == alone


def test_the_office_makes_a_link_and_sees_it_once(client, dispatcher, reading_society, settings):
    client.force_login(dispatcher)

    page = client.post(reverse("services:make_link", args=[reading_society.pk]))
    again = client.get(reverse("services:links", args=[reading_society.pk]))

    assert f"{settings.ADDRESS}/c/" in page.content.decode()
    assert "no-store" in page["Cache-Control"]
    assert "/c/" not in again.content.decode()


def test_the_office_takes_a_link_back(client, dispatcher, token, reading_society):
    client.force_login(dispatcher)
    link = ClientLink.objects.get()

    page = client.post(reverse("services:revoke_link", args=[link.pk]), follow=True)

    assert "taken back on Jul\xa06,\xa02026" in page.content.decode()
    assert client.get(f"/c/{token}").status_code == 410


@pytest.mark.parametrize("who", ["technician", "inspector"])
def test_others_make_no_links(client, request, who, reading_society):
    client.force_login(request.getfixturevalue(who))

    for name in ("links", "make_link"):
        path = reverse(f"services:{name}", args=[reading_society.pk])
        answer = client.get(path) if name == "links" else client.post(path)
        assert answer.status_code == 403


def test_a_link_is_not_made_by_reading(client, owner, reading_society):
    client.force_login(owner)

    assert client.get(reverse("services:make_link", args=[reading_society.pk])).status_code == 405
    assert not ClientLink.objects.exists()

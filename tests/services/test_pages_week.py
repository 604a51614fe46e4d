"""The page of the week: rows, marks, notes in the margin, and rows given to crews."""

from datetime import UTC, datetime

import pytest
from django.urls import reverse

from services import dispatching
from services.holding import hold_visit
from services.models import Dispatch, Outbox, Visit
from services.showing.week import week_shown

THIS_WEEK = "/week/2026-W28/"


@pytest.fixture
def stock(soap_lot, oil_lot, calibration, crew):
    """Both products in the store, a calibrated sprayer, and a crew to send."""
    return crew


@pytest.fixture
def dispatch(client, dispatcher, visits, stock, on_monday):
    """Press the button of the week's page with the first visit chosen."""
    client.force_login(dispatcher)
    address = reverse("services:dispatch_week", args=[on_monday])
    return lambda *keys: client.post(address, {"visit": keys or [visits[0].pk]}, follow=True)


def shown(user, monday, **sift):
    return week_shown(monday, monday, user, **sift)


def row_of(week, visit):
    rows = [row for group in week.groups for row in group.rows]
    return next(row for row in rows if row.visit == visit.pk)


def test_the_week_shows_the_courses_by_the_week_of_their_rotation(client, owner, visits, on_monday):
    client.force_login(owner)
    page = client.get("/week/").content.decode()

    assert "Week one of three" in page
    assert "Week two of three" not in page
    assert "Reading Society" in page


def test_a_week_is_named_by_its_iso_number(client, owner, visits, on_monday):
    client.force_login(owner)

    # 6 July 2026 lies in week 28 [ISO 8601: Python's own calendar is built on it]
    assert reverse("services:week", args=[on_monday]) == THIS_WEEK
    assert client.get(THIS_WEEK).status_code == 200
    assert "Week two of three" in client.get("/week/2026-W29/").content.decode()


@pytest.mark.parametrize("address", ["/week/2026-W54/", "/week/2026-W00/", "/week/nonsense/"])
def test_a_week_that_does_not_exist_is_not_found(client, owner, address):
    client.force_login(owner)

    assert client.get(address).status_code == 404


def test_the_line_runs_from_the_earliest_to_the_latest_day(owner, visits, on_monday):
    row = row_of(shown(owner, on_monday), visits[0])

    # from Monday the 6th to Friday the 10th; planned for the first of them
    assert [cell.is_allowed for cell in row.days] == [True] * 5 + [False]
    assert [cell.mark for cell in row.days] == ["planned", "", "", "", "", ""]
    assert row.days[0].words == "earliest day, planned"
    assert row.days[4].words == "latest day"


def test_a_visit_made_is_ticked_on_its_day(owner, done_visit, on_monday):
    row = row_of(shown(owner, on_monday), done_visit)

    assert row.days[0].mark == "kept"
    assert row.standing == "done on Mon Jul 6"
    assert not row.can_dispatch


def test_a_held_visit_is_crossed_and_the_margin_leads_to_its_hold(owner, visits, on_monday):
    hold_visit(visits[0], reason="wind", by=owner, at=datetime(2026, 7, 6, 13, tzinfo=UTC))
    week = shown(owner, on_monday)
    held = next(each for each in week.in_the_way if each.finding.code == "held")

    assert row_of(week, visits[0]).days[0].mark == "held"
    assert held.url.endswith(f"#visit-{visits[0].pk}")
    assert held.sentence.startswith("Held since Mon Jul 6: ")


def test_what_is_left_over_stands_in_the_week_that_runs_and_in_no_other(
    owner, visits, stock, on_monday
):
    next_monday = visits[1].planned
    now = week_shown(next_monday, next_monday, owner)
    later = week_shown(visits[2].planned, next_monday, owner)

    assert row_of(now, visits[0]).is_late
    assert row_of(now, visits[0]).standing == "late: the last day was Fri Jul 10"
    assert visits[0].pk not in [row.visit for group in later.groups for row in group.rows]


def test_an_obstacle_is_said_once_with_the_numbers_of_its_rows(
    owner, visits, second_course, on_monday
):
    week = shown(owner, on_monday)
    codes = [each.finding.code for each in week.in_the_way]
    number = codes.index("no-certificate") + 1

    assert codes.count("no-certificate") == 1
    for visit in (visits[0], second_course.visits.order_by("planned").first()):
        assert number in row_of(week, visit).notes


def test_every_note_has_a_step_that_can_be_opened(client, owner, visits, on_monday):
    client.force_login(owner)
    week = shown(owner, on_monday)

    assert week.in_the_way
    for each in [*week.in_the_way, *week.untold]:
        assert client.get(each.url.split("#")[0]).status_code == 200


@pytest.mark.parametrize(
    ("asked", "stands"),
    [
        ("rotation_week=1", True),
        ("rotation_week=3", False),
        ("words=reading", True),
        ("words=QUIET", True),
        ("words=orchard", False),
        ("rotation_week=ninety", True),
    ],
)
def test_the_week_is_sifted(client, owner, visits, on_monday, asked, stands):
    client.force_login(owner)
    page = client.get(f"/week/?{asked}").content.decode()

    assert (f'id="visit-{visits[0].pk}"' in page) is stands


def test_only_what_is_on_a_crews_routes_is_shown_of_it(owner, dispatched, on_monday):
    crew = dispatched.dispatch.crew

    week = week_shown(dispatched.planned, on_monday, owner, crew=crew)

    assert [row.visit for group in week.groups for row in group.rows] == [dispatched.pk]
    assert not shown(owner, on_monday, crew=crew).groups


def test_chosen_rows_are_given_to_a_crew(dispatch, visits):
    page = dispatch()

    visits[0].refresh_from_db()
    assert visits[0].dispatch.day == visits[0].planned
    assert "1 visit has a crew" in page.content.decode()
    assert "Who goes where" in page.content.decode()


def test_dispatching_twice_does_it_once(dispatch, visits):
    dispatch()
    before = Visit.objects.get(pk=visits[0].pk).version
    dispatch()

    assert Dispatch.objects.count() == 1
    assert Visit.objects.get(pk=visits[0].pk).version == before


def test_what_is_left_out_says_why(dispatch, visits, soap_lot):
    soap_lot.entries.create(
        kind="disposed", amount=-127, happened_at=datetime(2026, 7, 1, tzinfo=UTC)
    )

    page = dispatch().content.decode()

    assert "1 visit was left out" in page
    assert "lacks" in page
    assert Visit.objects.get(pk=visits[0].pk).dispatch is None


def test_what_names_no_visit_is_passed_over(client, dispatcher, visits, stock, on_monday):
    client.force_login(dispatcher)
    address = reverse("services:dispatch_week", args=[on_monday])

    client.post(address, {"visit": ["nonsense", "9" * 30]})

    assert not Dispatch.objects.exists()


def test_nothing_chosen_is_said(client, dispatcher, on_monday):
    client.force_login(dispatcher)

    page = client.post(reverse("services:dispatch_week", args=[on_monday]), follow=True)

    assert "No row was chosen." in page.content.decode()


@pytest.mark.parametrize("who", ["technician", "inspector"])
def test_the_week_is_for_the_office_and_the_applicators(client, request, who):
    client.force_login(request.getfixturevalue(who))

    assert client.get("/week/").status_code == 403


def test_an_applicator_reads_the_week_and_sends_nobody(client, applicator, visits, on_monday):
    client.force_login(applicator.user)

    assert "Dispatch the chosen rows" not in client.get("/week/").content.decode()
    assert client.post(f"{THIS_WEEK}dispatch/").status_code == 403


def test_a_stranger_is_asked_to_sign_in(client, db):
    assert client.get("/week/").url.startswith("/accounts/login/")


def test_the_week_takes_as_many_queries_for_two_courses_as_for_one(
    queries_of, visits, stock, on_monday, request
):
    first = queries_of("/week/")
    request.getfixturevalue("second_course")

    assert queries_of("/week/") == first


def test_notices_go_out_to_those_who_are_still_to_be_told(
    client, dispatcher, visits, reading_society, on_monday
):
    client.force_login(dispatcher)
    address = reverse("services:send_notices", args=[visits[1].planned])
    client.post(address)
    client.post(address)
    notice = Outbox.objects.get()

    assert "Send the notices" in client.get("/week/2026-W29/").content.decode()
    assert notice.arguments == {"visit": visits[1].pk, "client": reading_society.pk}


def test_of_a_held_visit_nobody_is_told(client, dispatcher, owner, visits, on_monday):
    hold_visit(visits[1], reason="rain", by=owner, at=datetime(2026, 7, 6, 13, tzinfo=UTC))
    client.force_login(dispatcher)
    client.post(reverse("services:send_notices", args=[visits[1].planned]))

    assert not Outbox.objects.exists()


def test_only_the_office_sends_notices(client, applicator, visits, on_monday):
    client.force_login(applicator.user)

    assert client.post(reverse("services:send_notices", args=[on_monday])).status_code == 403


def test_a_new_book_is_told_what_to_do_first(client, owner, business, on_monday):
    client.force_login(owner)
    page = client.get("/week/").content.decode()

    assert "Until then, in this order" in page
    assert page.count('<b class="word">done</b>') == 1
    assert reverse("services:new_yard") in page


def test_a_sunday_has_a_column_only_when_something_is_planned_on_it(owner, visits, on_monday):
    assert len(shown(owner, on_monday).days) == 6

    Visit.objects.filter(pk=visits[0].pk).update(planned="2026-07-12", latest="2026-07-12")

    assert len(shown(owner, on_monday).days) == 7


def test_the_yards_day_decides_which_week_runs(yard, db):
    # 02:00 UTC on Monday is still Sunday evening on the Delaware.
    assert (
        dispatching.today_at_yard(datetime(2026, 7, 6, 2, tzinfo=UTC)).isoformat() == "2026-07-05"
    )

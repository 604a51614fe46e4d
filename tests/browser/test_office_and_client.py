"""Longer ways in a real browser: a file is brought and undone, an estimate becomes a course."""

import pytest

from clients.models import Client, Planting
from services.models import Estimate
from tests.browser.conftest import PHONE, sign_in

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.django_db(transaction=True)]


def send_file(page, text):
    page.goto("/bring/")
    page.select_option("select[name=kind]", "clients")
    file = {"name": "clients.csv", "mimeType": "text/csv", "buffer": text.encode()}
    page.set_input_files("input[name=file]", file)
    page.get_by_role("button", name="Look at it").click()


def test_a_file_is_put_right_brought_and_undone(book, window):
    before = Client.objects.count()
    page = window()
    sign_in(page, "dispatcher")

    send_file(page, "name,email\r\nInk Club,nowhere\r\nPen Club,pen@example.org\r\n")
    fault = " ".join(page.locator("tbody tr").inner_text().split())
    assert fault.startswith("2 B email")
    assert page.get_by_role("button", name="Keep these").count() == 0

    send_file(page, "name,email\r\nInk Club,ink@example.org\r\nPen Club,pen@example.org\r\n")
    assert Client.objects.count() == before
    page.get_by_role("button", name="Keep these 2 rows").click()
    page.get_by_text("2 rows were kept.").wait_for()
    assert Client.objects.count() == before + 2

    page.get_by_role("button", name="Undo all of it").click()
    page.get_by_text("What it brought was undone.").wait_for()
    assert Client.objects.count() == before


def test_an_estimate_is_written_accepted_on_a_phone_and_becomes_a_course(book, window):
    planting = Planting.objects.get(pk=book.own["planting_id"])
    before = set(Estimate.objects.values_list("pk", flat=True))
    office = window()
    sign_in(office, "dispatcher")
    office.goto(f"/estimates/new/?planting={planting.pk}")
    office.select_option("select[name=rotation]", str(book.own["rotation_id"]))
    office.fill("input[name=first_day]", "2026-09-07")
    office.get_by_role("button", name="See prices").click()
    office.get_by_role("button", name="Write it").click()
    office.wait_for_url("**/estimates/*/")
    written = Estimate.objects.exclude(pk__in=before).get()

    phone = window(PHONE)
    phone.goto(f"/c/{book.token}")
    phone.locator(f"a[href='/client/estimates/{written.pk}/']").click()
    phone.locator("[name=words]").fill("Please begin after the wedding.")
    phone.get_by_role("button", name="Accept it").click()
    phone.get_by_text("You accepted this estimate.").wait_for()

    written.refresh_from_db()
    assert written.answer.words == "Please begin after the wedding."
    if written.course is None:  # a rule warns: then somebody of the office decides
        office.reload()
        office.get_by_role("button", name="Put it on").click()
        office.wait_for_url("**/courses/*/")
        written.refresh_from_db()
    assert list(written.course.plantings.all()) == [planting]
    assert written.course.visits.count() == 3

"""What people do in a day, in a real browser: the office, the crew with a phone, the client."""

import pytest

from tests.browser.conftest import PHONE, sign_in

pytestmark = pytest.mark.browser


def text(page):
    return " ".join(page.inner_text("main").split())


def test_the_office_takes_a_day_back_and_dispatches_it_again(window, book):
    page = window()
    sign_in(page, "dispatcher")
    page.click("nav >> text=Day")
    page.goto(f"/dispatches/{book.own['dispatch_id']}/recall/")
    page.click("main button.act, main button:has-text('Take')")
    page.click("nav >> text=Week")
    page.check(f"input[name=visit][value='{book.own['visit_id']}']")

    page.click("button:has-text('Dispatch the chosen rows')")

    assert "1 visit has a crew" in page.inner_text("body")
    page.click("nav >> text=Day")
    assert "Crew one" in text(page)
    assert "Library" in text(page) or "2 Shelf Street" in text(page)
    assert page.locator("main svg").count() >= 1


def test_a_crew_with_a_phone_waits_for_the_wind_and_keeps_the_visit(window, book):
    page = window(PHONE)
    sign_in(page, "technician")
    page.click(f"main a[href='/visits/{book.own['visit_id']}/']")
    page.fill("input[name=wind_mph]", "16")
    page.click("button:has-text('May we spray now'), button:has-text('may we spray now')")
    page.wait_for_selector("#verdict :text('16 mph')")

    page.fill("input[name=wind_mph]", "4")
    page.click("button:has-text('I begin now')")
    page.select_option("select[name=applicator]", label="A. Holder")
    started = page.input_value("input[name=started]")
    page.fill("input[name=ended]", started)
    page.click("button:has-text('Keep what was done')")

    assert "Kept as record" in page.inner_text("body")


def test_a_client_reads_the_letter_behind_the_link(window, book):
    page = window(PHONE)

    page.goto(f"/c/{book.token}")

    assert page.url.endswith("/client/")
    assert "Dear Reading Society" in page.inner_text("body")
    assert "Quarry" not in page.inner_text("body")
    for papers in ("visits", "statements"):
        assert page.locator(f"a[href^='/client/{papers}/'][href$='.pdf']").count() == 1
    assert page.locator("a[href$='.pdf']").count() == 2


def test_another_language_is_a_press_away(window, book):
    page = window()
    sign_in(page, "owner")

    page.locator("button[value=es]").first.click()

    assert page.get_attribute("html", "lang") == "es"
    assert "Semana" in page.inner_text("nav >> nth=0")


def test_what_is_typed_while_the_rules_are_asked_stays(window, book):
    page = window()
    sign_in(page, "owner")
    page.goto("/rotations/new/")
    waiting = []
    page.route("**/rotations/new/", lambda route: waiting.append(route))
    page.select_option("select[name=plant_group]", "rose")
    page.wait_for_timeout(300)
    page.fill("input[name=weeks-0-purpose]", "knock down")
    page.select_option("select[name=weeks-1-basis]", "fl oz/gal")
    page.wait_for_timeout(300)

    for route in waiting:
        route.continue_()
    page.wait_for_timeout(1500)

    assert waiting
    assert page.input_value("input[name=weeks-0-purpose]") == "knock down"
    assert page.input_value("select[name=weeks-1-basis]") == "fl oz/gal"

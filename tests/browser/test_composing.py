"""A rotation is composed in the browser: what is offered follows what is chosen, at once."""

import pytest

from tests.browser.conftest import sign_in

pytestmark = pytest.mark.browser
ELSEWHERE = "lawn"  # no label of the book gives a rate for it


@pytest.fixture
def sheet(window, book):
    """The owner's page of a new rotation."""
    page = window()
    sign_in(page, "owner")
    page.goto("/rotations/new/")
    return page


def offered(page, week):
    """Return the names of the products that a week offers."""
    return page.locator(f"#id_weeks-{week}-product option").all_inner_texts()[1:]


def follows(page, choose):
    """Do something that the page asks the rules about, and wait until it has followed."""
    with page.expect_response("/rotations/new/") as answer:
        choose()
    answer.value.finished()
    page.wait_for_selector(".htmx-request", state="detached")


def test_products_follow_a_newly_chosen_site_and_nothing_typed_is_lost(sheet, soap):
    assert offered(sheet, 0) == offered(sheet, 5) == ["Quiet Soap", "Still Oil"]
    follows(sheet, lambda: sheet.select_option("#id_weeks-0-product", label="Quiet Soap"))
    sheet.fill("#id_weeks-0-purpose", "knock them down")
    sheet.fill("#id_name", "Made up here")

    follows(sheet, lambda: sheet.select_option("#id_plant_group", ELSEWHERE))

    assert offered(sheet, 1) == []
    assert "products are not offered" in sheet.inner_text("#left-out")
    assert offered(sheet, 0) == ["Quiet Soap"]  # what was chosen stays, and is told of
    assert sheet.input_value("#id_weeks-0-product") == str(soap.pk)
    assert "gives no rate for this site" in sheet.inner_text("#beside-1")
    assert sheet.input_value("#id_weeks-0-purpose") == "knock them down"
    assert sheet.input_value("#id_name") == "Made up here"

    follows(sheet, lambda: sheet.select_option("#id_plant_group", "rose"))

    assert offered(sheet, 1) == ["Quiet Soap", "Still Oil"]
    assert sheet.inner_text("#left-out") == ""


def test_what_is_typed_while_the_lists_follow_is_looked_at_after_them(sheet, soap):
    sheet.select_option("#id_weeks-0-product", label="Quiet Soap")
    sheet.select_option("#id_plant_group", ELSEWHERE)
    sheet.fill("#id_weeks-0-rate", "2.5")
    sheet.select_option("#id_weeks-0-step", "release")

    sheet.wait_for_selector("#beside-1:has-text('gives no rate for this site')")
    sheet.wait_for_selector(".htmx-request", state="detached")
    assert offered(sheet, 0) == ["Quiet Soap"]
    assert sheet.input_value("#id_weeks-0-product") == str(soap.pk)
    assert sheet.input_value("#id_weeks-0-rate") == "2.5"
    assert sheet.input_value("#id_weeks-0-step") == "release"


def test_nothing_is_chosen_of_a_list_before_it_has_followed(sheet):
    waiting = []
    sheet.route("**/rotations/new/", lambda route: waiting.append(route))
    sheet.select_option("#id_plant_group", "rose")
    sheet.wait_for_selector("#id_weeks-0-product:disabled")

    assert sheet.is_disabled("#id_weeks-5-adjuvant")
    assert sheet.is_enabled("#id_weeks-0-step")
    assert sheet.is_enabled("#id_weeks-0-basis")

    waiting[0].continue_()
    sheet.wait_for_selector("#id_weeks-0-product:enabled")
    assert sheet.is_enabled("#id_weeks-5-adjuvant")

"""A client without an account follows the link, asks for another day, says how to be written to."""

import pytest

from clients.models import Client
from services.models import DayAsked
from tests.browser.conftest import PHONE

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.django_db(transaction=True)]


@pytest.mark.parametrize("scripts", [True, False], ids=["scripts", "no scripts"])
def test_a_client_asks_for_another_day_and_for_another_language(book, window, scripts):
    page = window(PHONE, scripts=scripts)
    page.goto(f"/c/{book.token}")
    page.get_by_role("link", name="Ask for another day").first.click()
    page.get_by_role("radio").first.check()
    page.get_by_label("What we should know").fill("We have guests.")
    page.get_by_role("button", name="Ask").click()

    assert page.get_by_text("You asked for").is_visible()
    assert DayAsked.objects.get(words="We have guests.").answered_at is None

    page.get_by_label("Language").select_option("es")
    page.get_by_role("button", name="Keep").click()
    page.get_by_role("heading", name="Hola").wait_for()
    assert Client.objects.get(name="Reading Society").language == "es"

"""Signing in with codes as a person does it, in a real browser, at a desk and on a phone.

The codes are reckoned by the library from what the page shows, as a phone would.
"""

from urllib.parse import parse_qs, urlsplit

import pytest
from pyotp import TOTP

from clients.access import Role
from services.models import Technician
from services.second_factor import want_codes
from tests.book import NOW
from tests.browser.conftest import DESK, PASSWORD, PHONE, sign_in
from tests.browser.test_every_page import axe, faults  # noqa: F401
from tests.services.test_second_factor import with_codes

pytestmark = pytest.mark.browser
WIDTHS = (PHONE, DESK)
FILL_CODE = "input[name=one_time_code]"


def phone_with(page):
    """Return a phone that was set up by the address on a page."""
    address = urlsplit(page.get_attribute("a[href^='otpauth:']", "href"))
    (secret,) = parse_qs(address.query)["secret"]
    assert secret == page.inner_text("code.secret").replace(" ", "").replace("\n", "")
    return TOTP(secret)


def type_code(page, code):
    page.fill(FILL_CODE, code)
    page.click("main button.act, main button.unmake")
    page.wait_for_load_state()


def looked_at(page):
    """Return what is gravely wrong with a page, for whoever reads it."""
    return [fault for width in WIDTHS for fault in faults(page, width)]


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("width", WIDTHS)
def test_codes_are_turned_on_asked_for_and_turned_off(window, book, now, axe, width, language):  # noqa: F811
    Technician.objects.update_or_create(
        user=book.people[Role.OWNER], defaults={"language": language}
    )
    page = window(width, language)
    page.add_init_script(axe)
    sign_in(page, "owner")
    page.goto("/sign-ins/")
    page.click("main a[href='/sign-ins/codes/']")
    page.click("main a[href='/sign-ins/codes/on/']")
    phone, wrong = phone_with(page), looked_at(page)

    page.fill("input[name=password]", PASSWORD)
    type_code(page, phone.at(NOW))
    wrong += looked_at(page)
    paper = [each.replace(" ", "") for each in page.locator("ol.codes code").all_inner_texts()]
    assert len(set(paper)) == 10

    page.click("form[action='/accounts/logout/'] button")
    sign_in(page, "owner")
    wrong += looked_at(page)
    page.set_viewport_size({"width": width, "height": 740})
    page.goto("/week/")
    assert "/accounts/login/" in page.url
    page.goto("/accounts/code/")
    now.shift(60)
    type_code(page, phone.at(NOW.timestamp() + 60))
    assert page.url.endswith("/week/")

    page.goto("/sign-ins/codes/off/")
    wrong += looked_at(page)
    page.fill("input[name=password]", PASSWORD)
    page.fill("input[name=recovery_code]", paper[0].lower())
    page.click("main button.unmake")
    page.wait_for_url("**/sign-ins/codes/")
    assert page.locator("main a[href='/sign-ins/codes/on/']").count() == 1
    assert not wrong, "\n".join(wrong)


def test_who_must_have_codes_gets_nowhere_before(window, book, now, axe):  # noqa: F811
    owner = book.people[Role.OWNER]
    with_codes(owner, NOW)
    want_codes(are_wanted=True, by=owner)
    page = window(PHONE)
    page.add_init_script(axe)

    page.goto("/properties/")
    page.fill("input[name=username]", "dispatcher")
    page.fill("input[name=password]", PASSWORD)
    page.click("main button.act")
    page.wait_for_url("**/accounts/first-code/")
    phone, wrong = phone_with(page), looked_at(page)
    page.goto("/week/")
    assert "/accounts/login/" in page.url
    page.goto("/accounts/first-code/")
    type_code(page, phone.at(NOW))
    page.click("main a.act")

    assert page.url.endswith("/properties/")
    assert not wrong, "\n".join(wrong)

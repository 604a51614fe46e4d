"""A certificate that lapsed after a visit was given to a crew, seen by the office and the crew."""

from datetime import timedelta

import pytest

from clients.access import Role
from tests.book import MONDAY
from tests.browser.conftest import DESK, PHONE, sign_in

pytestmark = [pytest.mark.browser, pytest.mark.slow]

WEEK, DAY = f"/week/{MONDAY:%G-W%V}/", f"/day/{MONDAY}/"
ANY_MORE = "on that day any more"
EXPIRED = "expires on Sun Jul 12, before Mon Jul 13"


@pytest.fixture
def lapsed(book, visit):
    """The certificate of the crew, which expired the day before its route."""
    product = visit.rotation_week.product
    product.certificate_category = "ornamental and turf"
    product.save()
    (certificate,) = book.people[Role.APPLICATOR].applicator.certificates.all()
    certificate.expires_on = MONDAY - timedelta(days=1)
    certificate.save()
    return certificate


def says(page, address):
    """Return what stands in the way of visits, as a page says it."""
    page.goto(address)
    return " ".join(" ".join(page.locator("main .note").all_inner_texts()).split())


# [40CFR171-101] a certificate counts by category and place, through its last day
@pytest.mark.parametrize("width", [DESK, PHONE])
def test_the_office_sees_it_follows_the_step_and_renews_it(window, book, lapsed, width):
    page = window(width)
    sign_in(page, book.people[Role.OWNER].get_username())
    for address in (WEEK, DAY):
        told = says(page, address)
        assert ANY_MORE in told
        assert EXPIRED in told

    page.click(f"main .note:has-text('{EXPIRED}') a:has-text('Certificates')")
    page.click(f"main a:has-text('{lapsed.applicator.name}')")
    page.click(f"main a:has-text('{lapsed.number}')")
    page.fill("input[name=expires_on]", MONDAY.isoformat())
    page.click("main form button.act")
    page.wait_for_load_state()

    for address in (WEEK, DAY):
        assert EXPIRED not in says(page, address)


def test_the_crew_is_told_on_its_day_and_on_its_phone(window, phone_of, book, visit, lapsed):
    page = window(PHONE)
    sign_in(page, book.people[Role.TECHNICIAN].get_username())
    phone = phone_of()
    phone.open_stop(visit.pk)
    phone.page.wait_for_selector("#keep-it")

    assert ANY_MORE in says(page, DAY)
    assert f"{lapsed.applicator.name}, no certificate" in phone.says()

"""Every page can be read and used by everybody: by ear, by keyboard, on a phone, in two languages.

What counts as a fault is what axe-core calls serious or critical of WCAG 2.2, levels A and AA.
"""

import pytest
from django.contrib.staticfiles.handlers import StaticFilesHandler

from clients.access import Role
from services.dispatching import recall
from services.models import Dispatch
from tests.architecture.addresses import addresses
from tests.browser.conftest import DESK, HEIGHT, PHONE

pytestmark = [pytest.mark.browser, pytest.mark.slow]

GRAVE = {"serious", "critical"}
A_FILE = "papers/<int:paper_id>/"  # handed out as a download
NO_PAGES = (".pdf", ".svg", ".json", ".ics", ".csv", ".zip", ".js", ".webmanifest")
OF_PHONES = "field/"  # asks the book as an enrolled phone does, and is tried by tests of its own
PRIMARY = ["/rotations/new/", "/clients/new/", "/store/receive/", "/accounts/login/"]
MOST_PRESSES = 150
AT_MAIN_STEP = "document.activeElement.matches('main button.act')"
# What is fine is told too, at length: it stays in the browser.
VIOLATIONS = "axe.run({resultTypes: ['violations']}).then(found => found.violations)"
WIDER = "document.scrollingElement.scrollWidth - document.scrollingElement.clientWidth"

# A finger wants 24 pixels [WCAG22, 2.5.8].
TOO_SMALL = """[...document.querySelectorAll("main a")]
  .filter(each => { const is = each.getBoundingClientRect();
                    return is.width && (is.width < 24 || is.height < 24) })
  .map(each => each.outerHTML)"""


@pytest.fixture
def axe():
    """The script of the engine that looks at a page as a screen reader would."""
    from axe_playwright_python.base import AXE_SCRIPT

    return AXE_SCRIPT


@pytest.fixture
def kept_static(monkeypatch):
    """Let a window keep stylesheets and scripts from page to page, as it does on a real server."""
    serve = StaticFilesHandler.serve

    def served(handler, request):
        answer = serve(handler, request)
        answer.headers["Cache-Control"] = "max-age=31536000"  # its clock stands in another season
        return answer

    monkeypatch.setattr(StaticFilesHandler, "serve", served)


@pytest.fixture
def signed_in(client, book, live_server, things):
    """Sign a window in without typing: as a role, or as a client by the link."""

    def sign(page, role, language):
        if role == "client":
            page.goto(f"/c/{book.token}")
        elif role != "stranger":
            client.force_login(book.people[Role(role)])
            name = client.cookies["session"].value
            page.context.add_cookies([{"name": "session", "value": name, "url": live_server.url}])
        code = {"name": "django_language", "value": language, "url": live_server.url}
        page.context.add_cookies([code])

    return sign


def pages_of(role, things):
    """Return the addresses of pages that a role may open."""
    return [
        address.filled(things)
        for address in addresses()
        if role in address.allowed("get")
        and not address.route.startswith(("api/", "c/", "healthz", "readyz", "i18n/"))
        and not address.filled(things).endswith(NO_PAGES)
        and address.route not in (OF_PHONES, A_FILE)
    ]


def faults(page, width):
    """Return what is gravely wrong with a page in a window of a width, with where."""
    page.set_viewport_size({"width": width, "height": HEIGHT})
    found = [
        f"{page.url} at {width}: {each['id']}: {node['target']}"
        for each in page.evaluate(VIOLATIONS)
        if each["impact"] in GRAVE
        for node in each["nodes"][:3]
    ]
    if page.evaluate(WIDER) > 0:
        found.append(f"{page.url} is wider than a window of {width}")
    return found


@pytest.mark.once
@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("role", ["owner", "technician", "client", "stranger"])
def test_nothing_grave_is_wrong_with_any_page_on_phone_or_desk(
    role, language, window, signed_in, axe, things, kept_static
):
    page, wrong = window(PHONE, language), []
    signed_in(page, role, language)
    page.add_init_script(axe)
    for path in pages_of(role, things):
        page.goto(path)
        wrong += [fault for width in (PHONE, DESK) for fault in faults(page, width)]

    assert not wrong, "\n".join(wrong)


@pytest.mark.parametrize("path", ["/records/", "/properties/{property_id}/", "/week/"])
def test_a_number_that_leads_on_is_as_wide_as_a_finger_wants(path, window, signed_in, things):
    page = window(PHONE)
    signed_in(page, "owner", "en")

    page.goto(path.format(**things))

    assert page.evaluate(TOO_SMALL) == []


@pytest.mark.parametrize("path", [*PRIMARY, "/visits/{visit_id}/"])
def test_the_main_step_of_a_page_is_reached_by_keys(path, window, signed_in, things):
    page = window()
    signed_in(page, "stranger" if "login" in path else "owner", "en")

    page.goto(path.format(**things))

    assert is_reached_by_keys(page)


def test_rows_are_dispatched_by_keys(book, window, signed_in):
    recall(Dispatch.objects.get(pk=book.own["dispatch_id"]), by=book.people[Role.OWNER])
    page = window()
    signed_in(page, "office", "en")

    page.goto("/week/")

    assert is_reached_by_keys(page)


def is_reached_by_keys(page):
    """Say whether the main step of a page comes under the keys before too many presses."""
    for _press in range(MOST_PRESSES):
        page.keyboard.press("Tab")
        if page.evaluate(AT_MAIN_STEP):
            return True
    return False

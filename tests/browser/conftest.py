"""A browser over a running server, its clock stopped at the second Monday of the whole book."""

import os
from pathlib import Path

import pytest
import time_machine

from clients.access import Role
from services.courses import put_on
from services.devices import enrol, make_code
from services.models import Dispatch, Technician, Visit
from tests.book import MONDAY, NOW
from tests.browser.phones import Phone
from tests.browser.wire import Wire

CHROMIUM = os.environ.get("DUSKBOOK_CHROMIUM", "/usr/bin/chromium")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PASSWORD = "one long password to test with"
PHONE, DESK, HEIGHT = 360, 1280, 740


def left_out(reason):
    """Skip for a reason, but fail where all checks are to run."""
    if os.environ.get("DUSKBOOK_CI") == "1":
        pytest.fail(f"{reason}, and no test is left out here.")
    pytest.skip(f"{reason}.")


@pytest.fixture(scope="module")
def chromium():
    """Start the browser; its driver's loop is not to run beside tests of anything else."""
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        left_out("playwright is not installed")
    if not Path(CHROMIUM).exists():
        left_out(f"there is no browser at {CHROMIUM}; DUSKBOOK_CHROMIUM names another")
    with pytest.MonkeyPatch.context() as patch, sync_playwright() as playwright:
        # The browser's driver runs a loop in this thread, in which Django would refuse to read.
        patch.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture
def now():
    """Set the clock to the second Monday and let it run, for the browser waits by it."""
    with time_machine.travel(NOW, tick=True) as clock:
        yield clock


@pytest.fixture
def window(chromium, live_server):
    """Open windows of a width in a language; whatever a page complains of fails the test."""
    complaints, contexts = [], []

    def opened(width=DESK, language="en", scripts=True):
        context = chromium.new_context(
            base_url=live_server.url,
            viewport={"width": width, "height": HEIGHT},
            locale="es-US" if language == "es" else "en-US",
            has_touch=width == PHONE,
            java_script_enabled=scripts,
        )
        contexts.append(context)
        page = context.new_page()
        page.on("console", lambda said: complain(complaints, page, said))
        page.on("pageerror", lambda error: complaints.append((page.url, str(error))))
        return page

    yield opened
    for context in contexts:
        context.close()
    assert complaints == []


def complain(complaints, page, said):
    """Keep what a page writes as an error, breaches of the content security policy among it."""
    if said.type == "error":
        complaints.append((page.url, said.text))


def sign_in(page, name):
    """Sign in by hand."""
    page.goto("/accounts/login/")
    page.fill("input[name=username]", name)
    page.fill("input[name=password]", PASSWORD)
    page.click("button:has-text('Sign in'), button:has-text('Entrar')")
    page.wait_for_load_state()


@pytest.fixture
def wire(live_server):
    """The wire between phones and the book."""
    wire = Wire(live_server.thread.port)
    yield wire
    wire.cut()


@pytest.fixture
def phone_of(chromium, wire, book, settings, tmp_path):
    """Enrol and open phones; a fault in the page's scripts fails the test."""
    settings.MEDIA_ROOT = tmp_path
    phones = []

    def enrolled(person=None, **told):
        person = person or book.people[Role.TECHNICIAN]
        if "language" in told:
            Technician.objects.filter(user=person).update(language=told["language"])
        owner = book.people[Role.OWNER]
        _waiting, code = make_code(person, name=f"Phone {len(phones) + 5}", by=owner, now=NOW)
        device, token = enrol(code, now=NOW)
        phone = Phone(chromium, wire, token, **told)
        phone.device = device
        phones.append(phone)
        phone.start()
        return phone

    yield enrolled
    for phone in phones:
        phone.context.close()
        assert phone.errors == []


@pytest.fixture
def phone(phone_of):
    """The technician's phone, which holds the stop of the day."""
    return phone_of()


@pytest.fixture
def visit(book):
    """The stop of the day."""
    return Visit.objects.get(pk=book.own["visit_id"])


@pytest.fixture
def more_stops(book, three_weeks, rose_bed):
    """Put more stops into the crew's day, so many as are asked for."""
    route = Dispatch.objects.get(pk=book.own["dispatch_id"])
    told = {"rotation": three_weeks, "first_day": MONDAY, "today": MONDAY}

    def made(position):
        place, bed = copied(rose_bed.property), copied(rose_bed)
        place.name = place.street = bed.name = f"{position + 8} Shelf Street"
        place.save(force_insert=True)
        bed.property = place
        bed.save(force_insert=True)
        (course,) = put_on(plantings=[bed], by=book.people[Role.OWNER], **told)
        visit = course.visits.order_by("rotation_week__week")[0]
        Visit.objects.filter(pk=visit.pk).update(
            dispatch=route, position=position, arrives_at=route.leaves_yard_at
        )
        return visit

    return lambda number: [made(position) for position in range(2, number + 2)]


def copied(thing):
    """Return a copy that is not in the book yet."""
    copy = type(thing).objects.get(pk=thing.pk)
    copy.pk = None
    return copy

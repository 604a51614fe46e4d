"""The phone's pages can be read and used by everybody, in two languages, by day and at dusk.

What counts as a fault is what axe-core calls serious or critical of WCAG 2.2, levels A and AA.
"""

import pytest

from clients.access import Role
from services.models import Technician
from tests.browser.test_phone_reports import add_photo

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.once]

GRAVE = {"serious", "critical"}
WIDER = "document.scrollingElement.scrollWidth - document.scrollingElement.clientWidth"
TOUCHED = (
    "a:not(.skip), button, .option, .picker span, summary, textarea, "
    "input:not([type=file], [type=radio], [type=checkbox])"
)
LEAST = 44  # CSS px, either way (WCAG 2.2, 2.5.5); a tick or choice is touched by all of its words
TOO_SMALL = """
([touched, least]) => [...document.querySelectorAll(touched)]
  .filter((each) => each.offsetParent)
  .map((each) => [each.getBoundingClientRect(), each])
  .filter(([box]) => Math.min(box.height, box.width) < least - 0.5)
  .map(([box, each]) => `${each.textContent || each.name} ${box.width} by ${box.height}`)
"""
OPEN_ALL = "() => document.querySelectorAll('details').forEach((each) => { each.open = true })"


@pytest.fixture
def axe():
    """The engine that looks at a page as a screen reader would."""
    from axe_playwright_python.sync_playwright import Axe

    return Axe()


def faults(axe, page):
    """Return what is gravely wrong with a page, with where."""
    page.evaluate(OPEN_ALL)
    found = axe.run(page).response["violations"]
    wrong = [
        f"{page.url} {each['id']}: {node['target']}"
        for each in found
        if each["impact"] in GRAVE
        for node in each["nodes"][:3]
    ]
    if page.evaluate(WIDER) > 0:
        wrong.append(f"{page.url} is wider than the window")
    small = page.evaluate(TOO_SMALL, [TOUCHED, LEAST])
    wrong += [f"{page.url} too small to touch: {each}" for each in small]
    return wrong


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("light", ["light", "dark"])
def test_nothing_grave_is_wrong_with_the_phones_pages(light, language, phone_of, visit, axe):
    phone = phone_of(width=320, language=language, color_scheme=light)
    wrong = faults(axe, phone.page)
    phone.context.set_offline(True)
    for place, sign in (
        ("unsent", "#save-file"),
        ("unplanned/new", "#keep-it"),
        ("note/new", "[name=text]"),
        (f"stop/{visit.pk}", "#keep-it"),
    ):
        phone.go(place)
        phone.page.wait_for_selector(sign)
        wrong += faults(axe, phone.page)
    add_photo(phone)
    wrong += faults(axe, phone.page)
    phone.page.fill("[name=hold_note]", "The gate was locked.")
    phone.page.fill("input[name=wind_mph]", "13")
    phone.page.click("#keep-it")
    wrong += faults(axe, phone.page)
    phone.page.fill("input[name=wind_mph]", "4")
    phone.finish()
    wrong += faults(axe, phone.page)
    phone.go("unsent")
    phone.page.wait_for_selector(".rows li")
    wrong += faults(axe, phone.page)
    phone.open_stop(visit.pk)
    phone.page.wait_for_selector("#amend")
    phone.page.click("#amend")
    phone.page.wait_for_selector("[name=amend_reason]")
    wrong += faults(axe, phone.page)

    assert not wrong, "\n".join(wrong)


def test_the_language_changes_at_once_and_stays(phone, visit):
    phone.context.set_offline(True)
    phone.open_stop(visit.pk)
    phone.page.fill("input[name=wind_mph]", "6")
    phone.page.wait_for_selector(".written :text('Written down')")

    phone.page.click("#language")

    assert phone.page.get_attribute("html", "lang") == "es"
    assert "Guardar lo hecho" in phone.says()
    assert phone.page.input_value("input[name=wind_mph]") == "6"
    phone.kill()
    phone.page.wait_for_selector("a.to-stop")
    assert phone.page.get_attribute("html", "lang") == "es"


def test_a_phone_reads_as_its_person_does_whatever_its_browser_says(phone_of, book):
    person = book.people[Role.TECHNICIAN]
    Technician.objects.filter(user=person).update(language="es")
    phone = phone_of()  # with an English browser

    assert phone.page.get_attribute("html", "lang") == "es"
    phone.context.set_offline(True)
    phone.kill()
    phone.page.wait_for_selector("a.to-stop")
    assert phone.page.get_attribute("html", "lang") == "es"
    phone.page.click("#language")
    assert phone.page.get_attribute("html", "lang") == "en"


def test_a_stop_is_made_by_keys_alone(phone, visit):
    phone.open_stop(visit.pk)
    reached = set()
    for _press in range(120):
        phone.page.keyboard.press("Tab")
        reached.add(
            phone.page.evaluate("document.activeElement.id || document.activeElement.textContent")
        )

    assert {"keep-it", "hold-it", "I begin now", "I end now", "send-now"} <= reached

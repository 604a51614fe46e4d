"""The phone's pages can be read and used by everybody, in two languages, by day and at dusk.

What counts as a fault is what axe-core calls serious or critical of WCAG 2.2, levels A and AA.
"""

import pytest

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.once]

GRAVE = {"serious", "critical"}
WIDER = "document.scrollingElement.scrollWidth - document.scrollingElement.clientWidth"
TOO_SMALL = """
() => [...document.querySelectorAll("button, .option, .picker span, summary, a.act")]
  .filter((each) => each.offsetParent && each.getBoundingClientRect().height < 47.5)
  .map((each) => each.textContent)
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
    wrong += [f"{page.url} too small to touch: {each}" for each in page.evaluate(TOO_SMALL)]
    return wrong


@pytest.mark.parametrize("language", ["en", "es"])
@pytest.mark.parametrize("light", ["light", "dark"])
def test_nothing_grave_is_wrong_with_the_phones_pages(light, language, phone_of, visit, axe):
    phone = phone_of(width=320, language=language, color_scheme=light)
    wrong = faults(axe, phone.page)
    phone.context.set_offline(True)
    for place in (f"stop/{visit.pk}", "unsent", "unplanned/new"):
        phone.go(place)
        phone.page.wait_for_selector(".whence")
        wrong += faults(axe, phone.page)
    phone.open_stop(visit.pk)
    phone.page.fill("input[name=wind_mph]", "13")
    phone.page.click("#keep-it")
    wrong += faults(axe, phone.page)
    phone.page.fill("input[name=wind_mph]", "4")
    phone.finish()
    wrong += faults(axe, phone.page)
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


def test_a_stop_is_made_by_keys_alone(phone, visit):
    phone.open_stop(visit.pk)
    reached = set()
    for _press in range(120):
        phone.page.keyboard.press("Tab")
        reached.add(
            phone.page.evaluate("document.activeElement.id || document.activeElement.textContent")
        )

    assert {"keep-it", "hold-it", "I begin now", "I end now", "send-now"} <= reached

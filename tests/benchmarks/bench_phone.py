"""How soon a phone shows its stops without signal, its processor slowed to a quarter.

Run by name: `pytest tests/benchmarks/bench_phone.py -s`.  The figure is from the start of the
navigation to the moment at which the page is drawn, by the browser's own clock; the middle of
several starts, each in a fresh page.
"""

import pytest

from tests.browser.conftest import chromium, now, phone_of, visit, wire  # noqa: F401

pytestmark = [pytest.mark.browser, pytest.mark.slow]

SLOWER = 4  # times
STARTS = 9
MOST = 300  # ms
DRAWN = "performance.getEntriesByName('first-stop')[0].startTime"


@pytest.mark.parametrize("place", ["list", "stop"])
def test_the_first_stop_is_there_at_once(place, phone_of, visit):  # noqa: F811
    phone = phone_of()
    phone.context.set_offline(True)
    address = "/field/" if place == "list" else f"/field/#/stop/{visit.pk}"

    took = sorted(drawn_after(phone, address) for _start in range(STARTS))

    print(f"\n{place}: drawn after {took[STARTS // 2]:.0f} ms ({took[0]:.0f} to {took[-1]:.0f})")  # noqa: T201
    assert took[STARTS // 2] < MOST


def drawn_after(phone, address):
    """Return how many milliseconds a page takes to be drawn."""
    page = phone.open()
    slow = phone.context.new_cdp_session(page)
    slow.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    page.goto(address)
    page.wait_for_selector("a.to-stop, section.step")
    took = page.evaluate(DRAWN)
    page.close()
    return took

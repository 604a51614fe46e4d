"""How soon a phone shows its stops, and how freely it sends a full day.

Run by name: `pytest tests/benchmarks/bench_phone.py -s`.  Starts are timed with the processor
slowed to a quarter, from the start of the navigation to the moment at which the first words are
painted, by the browser's own clock (W3C, Paint Timing): the middle of several, each in a fresh
page.  Beside each stands a bare page that reads the same packet and writes one line of it, for what
browser and machine take; nothing is painted before the stops.
"""

import time

import pytest

from services.models import FieldEvent, FieldPhoto
from tests.browser.conftest import (  # noqa: F401
    chromium,
    more_stops,
    now,
    phone_of,
    visit,
    wire,
)

pytestmark = [pytest.mark.browser, pytest.mark.slow]

SLOWER = 4  # times
STARTS = 9
MOST = 300  # ms
TIMES_BARE = 2
SETTLED = 2.5  # s; nothing looks at the page before, for that takes time of its own
PAINTED = """() => {
  const at = (name) => performance.getEntriesByName(name)[0].startTime;
  return Math.max(at("first-contentful-paint"), at("first-stop"));
}"""
BARE = """<!doctype html><title>bare</title><main></main><script>
const opening = indexedDB.open("field");
opening.onsuccess = () => {
  const packet = opening.result.transaction("things").objectStore("things").get("packet");
  packet.onsuccess = () => {
    const [stop] = packet.result.packet.stops;
    document.querySelector("main").textContent = stop.texts.en.place.address;
    performance.mark("first-stop");
  };
};
</script>"""
STOPS, PHOTOS = 40, 3  # of a full day; photos of each stop
FREEZE = 50  # ms; the page answers no tap for longer
FILL = """async ([visits, photos]) => {
  const from = (name) => import(`/static/field/${name}.js`);
  const [{ draftFor }, { addPhoto }, { eventOf, keep }, { phone, stopOf }] =
    await Promise.all(["drafts", "photos", "keeping", "phone"].map(from));
  const picture = async (seed) => {
    const canvas = new OffscreenCanvas(1600, 1200);
    const pen = canvas.getContext("2d");
    for (let each = 0; each < 4000; each += 1) {
      pen.fillStyle = `hsl(${(each * seed) % 360} 60% 50%)`;
      pen.fillRect((each * 97 * seed) % 1600, (each * 61) % 1200, 40, 30);
    }
    return canvas.convertToBlob({ type: "image/jpeg", quality: 0.9 });
  };
  for (const [place, visit] of visits.entries()) {
    const stop = stopOf(visit);
    const key = draftFor(stop);
    for (let each = 1; each <= photos; each += 1) {
      await addPhoto(phone.drafts.get(key.key) ?? key, await picture(place * photos + each));
    }
    const draft = phone.drafts.get(key.key);
    const now = new Date().toISOString().slice(0, 19) + "Z";
    const [{ id: planting }] = stop.plantings;
    const report = { planting, lot: null, product_amount: "1", mix_gallons: "5" };
    const [{ id: applicator }] = phone.packet.packet.applicators;
    const body = { started_at: now, applicator, reports: [report] };
    const { photos: taken, event_id } = draft;
    const event = eventOf({ kind: "complete", body, stop, photos: taken, event_id });
    await keep(draft, event, { title: "a stop" });
  }
}"""
WATCH = """() => {
  window.frozen = [];
  const note = ({ duration }) => window.frozen.push(duration);
  new PerformanceObserver((list) => list.getEntries().forEach(note)).observe({ type: "longtask" });
}"""


@pytest.mark.parametrize("place", ["list", "stop"])
def test_the_first_stop_is_there_at_once(place, phone_of, visit):  # noqa: F811
    phone = phone_of()
    phone.context.set_offline(True)
    phone.context.route("**/field/bare", bare_page)
    address = "/field/" if place == "list" else f"/field/#/stop/{visit.pk}"

    pairs = [
        (painted_after(phone, "/field/bare"), painted_after(phone, address)) for _ in range(STARTS)
    ]
    bare, took = (sorted(times) for times in zip(*pairs, strict=True))

    middle = STARTS // 2
    print(  # noqa: T201
        f"\n{place}: painted after {took[middle]:.0f} ms ({took[0]:.0f} to {took[-1]:.0f}), "
        f"a bare page after {bare[middle]:.0f} ms ({bare[0]:.0f} to {bare[-1]:.0f})"
    )
    assert took[middle] < max(MOST, TIMES_BARE * bare[middle])


def bare_page(route):
    """Answer with the bare page."""
    route.fulfill(body=BARE, content_type="text/html")


def painted_after(phone, address):
    """Return how many milliseconds a page takes to be painted."""
    page = phone.open()
    slow = phone.context.new_cdp_session(page)
    slow.send("Emulation.setCPUThrottlingRate", {"rate": SLOWER})
    page.goto(address, wait_until="commit")
    time.sleep(SETTLED)
    took = page.evaluate(PAINTED)
    page.close()
    return took


def test_a_full_day_is_sent_while_the_page_stays_free(phone_of, more_stops):  # noqa: F811
    visits = more_stops(STOPS)
    phone = phone_of()
    phone.context.set_offline(True)
    phone.page.evaluate(FILL, [[each.pk for each in visits], PHOTOS])
    phone.kill()
    phone.page.wait_for_selector("a.to-stop")
    phone.page.evaluate(WATCH)

    phone.context.set_offline(False)
    phone.page.wait_for_selector("#unsent-words:text-matches('^Everything')", timeout=300_000)

    frozen = phone.page.evaluate("window.frozen")
    longest = max(frozen, default=0)
    print(f"\nfull day: longest freeze {longest:.0f} ms; {len(frozen)} above {FREEZE} ms")  # noqa: T201
    assert FieldEvent.objects.filter(kind="complete", visit__in=visits).count() == STOPS
    assert FieldPhoto.objects.filter(kept_at__isnull=False).count() == STOPS * PHOTOS
    assert longest <= FREEZE

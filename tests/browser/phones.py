"""A phone in a real browser, and what a thumb does on it."""

import json
import subprocess
from datetime import UTC, datetime
from time import sleep

from services.field.auth import COOKIE

SHIFTED = """
(() => {
  const Real = Date;
  const shift = %d;
  class Shifted extends Real {
    constructor(...told) { if (told.length) super(...told); else super(Real.now() + shift); }
    static now() { return Real.now() + shift; }
  }
  Object.defineProperty(window, "Date", { value: Shifted, configurable: true, writable: true });
})();
"""
HOLDS = """
(store) => new Promise((resolve, reject) => {
  const opening = indexedDB.open("field");
  opening.onerror = () => reject(opening.error);
  opening.onsuccess = () => {
    const asked = opening.result.transaction(store).objectStore(store).getAll();
    asked.onsuccess = () => { opening.result.close(); resolve(JSON.stringify(asked.result)); };
  };
})
"""
ALL_IS_SENT = "#unsent-words:text-matches('^(Everything|Todo)')"


class Phone:
    """A phone of a person; its clock goes with that of the book."""

    def __init__(self, chromium, wire, token, *, width=360, language="en", scripts=(), **context):
        self.url = f"http://localhost:{wire.port}"
        self.context = chromium.new_context(
            base_url=self.url,
            viewport={"width": width, "height": 740},
            locale="es-US" if language == "es" else "en-US",
            timezone_id="America/New_York",
            has_touch=True,
            **context,
        )
        self.set_clock(datetime.now(UTC).timestamp() - machine_time())
        for script in scripts:
            self.context.add_init_script(script)
        if token:
            self.context.add_cookies([{"name": COOKIE, "value": token, "url": self.url}])
        self.errors = []
        self.page = self.open()

    def set_clock(self, ahead):
        """Move the clock of pages that open from now on, by some seconds."""
        self.context.add_init_script(SHIFTED % int(ahead * 1000))

    def open(self):
        """Open a page of the phone; what it complains of in its scripts is kept."""
        page = self.context.new_page()
        page.on("pageerror", lambda error: self.errors.append(str(error)))
        return page

    def start(self):
        """Open the field and wait until it would open without the book."""
        self.page.goto("/field/")
        self.page.wait_for_selector("a.to-stop, .notice.grave")
        if self.page.locator("a.to-stop").count():
            self.page.evaluate("navigator.serviceWorker.ready.then(() => true)")

    def kill(self):
        """Kill the page as a phone does that is short of memory, and open it again."""
        self.page.close(run_before_unload=False)
        self.page = self.open()
        self.page.goto("/field/")

    def go(self, place=""):
        """Go to a place of the page."""
        self.page.evaluate("place => { location.hash = place }", f"#/{place}")

    def open_stop(self, visit):
        """Open a stop and wait for it."""
        self.go(f"stop/{visit}")
        self.page.wait_for_selector(f"main[data-stop='{visit}']")

    def work(self):
        """Do the taps of one stop, yielding before each, as the store lets them through."""
        page = self.page
        yield
        page.click("button[aria-label='More: Wind']")
        yield
        page.click("[data-name=started_at] button.act")
        page.wait_for_selector("[data-name=started_at] output")
        yield
        page.click("[data-name=lot] .option >> nth=0")
        yield
        page.click("[data-name=applicator] .option >> nth=0")
        yield
        page.click("[data-name=done_at] button.act")
        page.wait_for_selector("[data-name=done_at] output")
        yield
        page.click("#keep-it")
        page.wait_for_selector("#outcome")

    def complete(self, visit):
        """Make a stop from the first tap to the last."""
        self.open_stop(visit)
        for _tap in self.work():
            pass

    def rest(self):
        """Do the taps that an open stop still wants, yielding before each and right after it."""
        page = self.page
        page.wait_for_selector("#keep-it, #outcome")  # the form comes after what is read
        if page.locator("#outcome").count():
            return
        for name in ("started_at", "done_at"):
            if not page.locator(f"[data-name={name}] output").count():
                yield
                page.click(f"[data-name={name}] button.act")
                yield
                page.wait_for_selector(f"[data-name={name}] output")
        for name in ("lot", "applicator"):
            if not page.locator(f"[data-name={name}] input:checked").count():
                yield
                page.click(f"[data-name={name}] .option >> nth=0")
                yield
        yield
        page.click("#keep-it")
        yield
        page.wait_for_selector("#outcome")

    def finish(self):
        """Make what is left of an open stop: only what does not stand there already."""
        for _tap in self.rest():
            pass

    def send(self):
        """Press the button that sends, and wait until everything is with the book."""
        self.page.click("#send-now")
        for _look in range(200):
            if self.foot().startswith(("Everything", "Todo")):
                return
            self.page.wait_for_timeout(100)
        told = [(row["event"]["kind"], row.get("reply")) for row in self.holds("outbox")]
        raise AssertionError(f"{self.foot()} {told}")

    def holds(self, store):
        """Return what a store of the phone holds."""
        return json.loads(self.page.evaluate(HOLDS, store))

    def foot(self):
        """Return what the foot says."""
        return self.page.inner_text("#unsent-words")

    def says(self):
        """Return the words of the page."""
        return " ".join(self.page.inner_text("main").split())


def machine_time():
    """Return the machine's own time, which the tests' clock does not touch."""
    return float(
        subprocess.run(["date", "+%s.%N"], capture_output=True, check=True, text=True).stdout
    )


def wait_until(is_so, tries=150):
    """Wait for something that the page of a phone does not tell of."""
    for _each in range(tries):
        if is_so():
            return
        sleep(0.1)
    raise AssertionError("It did not come about.")

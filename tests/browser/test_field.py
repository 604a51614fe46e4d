"""A crew's phone: it works without signal, keeps what was done, and is heard once.

The promises are those of the phone's section in DEVELOPERS.md.
"""

import random

import pytest

from clients.access import Role
from services.devices import revoke
from services.models import Device, FieldEvent, Visit
from tests.book import NOW
from tests.browser.phones import ALL_IS_SENT, wait_until

pytestmark = [pytest.mark.browser, pytest.mark.slow]

FULL = """() => {
  IDBObjectStore.prototype.put = () => { throw new DOMException("full", "QuotaExceededError"); };
}"""
KILLS = 30
STOPS = 20
MOMENTS = 8  # of one stop at which it is killed: before its taps, and right after each


def completed(visit):
    return FieldEvent.objects.filter(visit=visit, kind="complete")


def test_a_stop_is_made_without_signal_and_sent_when_there_is_some(phone, visit):
    phone.context.set_offline(True)
    phone.page.reload()
    phone.complete(visit.pk)

    assert "2 reports not sent yet" in phone.foot()
    assert "not sent yet" in phone.says()
    phone.context.set_offline(False)
    phone.send()

    (record,) = visit.records.all()
    assert record.received_at is not None
    phone.page.wait_for_selector(f"#outcome :text('Record {record.number}')")
    assert phone.holds("outbox") == []


def test_the_page_opens_when_the_book_is_gone_and_the_phone_was_off(phone, visit, wire):
    wire.cut()
    phone.kill()
    phone.complete(visit.pk)
    phone.kill()

    assert "not sent yet" in phone.foot()
    wire.mend()
    phone.send()

    assert visit.records.count() == 1


def test_an_answer_that_was_lost_makes_no_second_record(phone, visit, wire):
    phone.context.set_offline(True)
    phone.complete(visit.pk)
    wire.swallows_answers = True
    phone.context.set_offline(False)
    wait_until(lambda: visit.records.count() == 1)
    wire.swallows_answers = False
    wire.cut()
    wire.mend()
    phone.kill()
    phone.send()

    assert visit.records.count() == 1
    results = {each["reply"]["result"] for each in phone.holds("receipts")}
    assert "duplicate" in results


def test_a_clock_three_hours_fast_is_seen(phone_of, visit):
    phone = phone_of()
    phone.set_clock(ahead=3 * 3600)
    phone.kill()
    phone.page.wait_for_selector(ALL_IS_SENT)
    phone.complete(visit.pk)
    phone.send()

    event = completed(visit).get()
    assert visit.records.count() == 1
    assert abs(event.skew_seconds - 3 * 3600) < 60
    assert "clock-off" in [flag["code"] for flag in event.reply["flags"]]


def test_a_phone_that_may_not_keep_anything_says_so(phone_of):
    refuse = "indexedDB.open = () => { throw new DOMException('no', 'SecurityError') }"
    phone = phone_of(scripts=[refuse])

    assert "does not let the page keep anything" in phone.says()
    assert phone.page.locator("section.step").count() == 0


def test_a_full_phone_shows_the_form_again_and_never_says_kept(phone, visit):
    phone.open_stop(visit.pk)
    work = phone.work()
    for _tap in range(6):
        next(work)
    phone.page.evaluate(FULL)
    phone.page.click("button[aria-label='More: Wind']")
    phone.page.wait_for_selector(".written .problem")
    phone.page.click("#keep-it")
    phone.page.wait_for_selector(".problems")

    assert "QuotaExceededError" in phone.says()
    assert phone.page.locator("#keep-it").count() == 1
    assert phone.page.locator("#outcome").count() == 0
    assert phone.page.input_value("input[name=wind_mph]") == "5"
    phone.page.click("#send-now")
    phone.page.wait_for_selector("#unsent-words:text('The phone is full')")


def test_two_phones_complete_one_visit_and_a_person_decides(phone_of, book, visit):
    first, second = phone_of(), phone_of(book.people[Role.APPLICATOR])
    for phone in (first, second):
        phone.context.set_offline(True)
        phone.complete(visit.pk)
    for phone in (first, second):
        phone.context.set_offline(False)
        phone.send()

    reports = completed(visit)
    assert reports.count() == 2
    assert reports.filter(needs_review=True).exists()
    visit.refresh_from_db()
    assert visit.state == Visit.State.COMPLETED


def test_a_phone_that_was_taken_back_shows_no_stop_and_keeps_what_is_unsent(phone, book, visit):
    phone.context.set_offline(True)
    phone.complete(visit.pk)
    revoke(Device.objects.get(pk=phone.device.pk), by=book.people[Role.OWNER], at=NOW)
    phone.context.set_offline(False)
    phone.page.wait_for_selector("#unsent-words:text('not enrolled')")
    phone.go()
    phone.page.wait_for_selector(".notice.grave")

    assert "a.to-stop" not in phone.page.content()
    assert len(phone.holds("outbox")) == 2


def make_killed(phone, visit, moments):
    """Make a stop, the page killed at each of these moments and the stop opened again."""
    for moment in moments:
        phone.open_stop(visit.pk)
        for tap, _each in enumerate(phone.rest()):
            if tap == moment:
                break
        phone.kill()
    phone.open_stop(visit.pk)
    phone.finish()


@pytest.mark.once  # it is the phone that is killed; the book hears of all of it at the end
def test_twenty_stops_with_the_page_killed_between_taps_are_twenty_records(more_stops, phone_of):
    many_stops = more_stops(STOPS)
    seed = random.randrange(10**9)
    chance = random.Random(seed)
    phone = phone_of()
    phone.context.set_offline(True)
    moments = {visit: [] for visit in many_stops}
    for _kill in range(KILLS):
        moments[chance.choice(many_stops)].append(chance.randrange(MOMENTS))

    for visit in many_stops:
        make_killed(phone, visit, moments[visit])
    assert f"{2 * STOPS} reports not sent yet" in phone.foot(), f"seed {seed}"
    phone.context.set_offline(False)
    phone.send()

    assert [visit.records.count() for visit in many_stops] == [1] * STOPS, f"seed {seed}"
    assert FieldEvent.objects.filter(kind="complete").count() == STOPS
    numbers = FieldEvent.objects.filter(device=phone.device).values_list("device_seq", flat=True)
    assert sorted(numbers) == list(range(1, 2 * STOPS + 1))


def test_two_pages_of_one_phone_keep_and_send_a_stop_once(phone, visit):
    phone.context.set_offline(True)
    phone.open_stop(visit.pk)
    taps = phone.rest()
    for _tap in range(6):  # begun, ended, the lot: all but the last tap
        next(taps)
    second = phone.open()
    second.goto(f"/field/#/stop/{visit.pk}")
    second.wait_for_selector("#keep-it")
    for page in (phone.page, second):
        page.click("#keep-it")
        page.wait_for_selector("#outcome")
    assert [row["event"]["kind"] for row in phone.holds("outbox")].count("complete") == 1

    phone.context.set_offline(False)
    second.click("#send-now")
    phone.send()

    assert visit.records.count() == 1
    assert completed(visit).count() == 1

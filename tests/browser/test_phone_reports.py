"""What a crew reports with its phone beside the plain stop: photos, holds, changes, leaving."""

import json
from datetime import date, timedelta
from io import BytesIO

import pytest
from PIL import Image

from clients.access import Role
from services.field.photos import original_of
from services.models import Device, FieldEvent, FieldPhoto, LoadLine, Visit
from tests.browser.conftest import copied
from tests.browser.phones import wait_until

pytestmark = [pytest.mark.browser, pytest.mark.slow, pytest.mark.once]


def picture(width=2600, height=1300):
    """Return a picture as a phone takes it, with a camera's name in it."""
    made = BytesIO()
    image = Image.effect_noise((width, height), 90).convert("RGB")
    exif = Image.Exif()
    exif[0x010F] = "An Invented Camera"
    image.save(made, "JPEG", exif=exif)
    return made.getvalue()


def add_photo(phone):
    """Pick a photo for the form that is open."""
    file = {"name": "hedge.jpg", "mimeType": "image/jpeg", "buffer": picture()}
    phone.page.set_input_files(".picker input >> nth=1", [file])
    phone.page.wait_for_selector(".photos canvas")


def test_a_photo_follows_its_report_in_pieces_drawn_anew(phone, visit):
    phone.context.set_offline(True)
    phone.open_stop(visit.pk)
    add_photo(phone)
    phone.finish()
    assert "1 photo not sent yet" in phone.foot()

    phone.context.set_offline(False)
    phone.send()

    photo = FieldPhoto.objects.get(event__visit=visit)
    (held,) = FieldEvent.objects.get(visit=visit, kind="complete").photos.all()
    assert held == photo
    assert photo.kept_at is not None
    assert photo.size > 512 * 1024
    assert phone.holds("photos") == []


def test_a_stop_is_put_off_with_the_reason(phone, visit):
    phone.open_stop(visit.pk)
    phone.page.fill("input[name=wind_mph]", "13")
    phone.page.click("[data-name=hold_reason] .option >> nth=0")
    phone.page.click("#hold-it")
    phone.page.wait_for_selector("#outcome")
    phone.send()

    assert visit.holds.filter(reason="wind").exists()
    assert visit.records.count() == 0


def test_what_never_left_the_phone_is_written_anew_under_its_own_id(phone, visit):
    phone.context.set_offline(True)
    phone.complete(visit.pk)
    before = sent(phone, "complete")
    phone.page.click("#amend")
    phone.page.fill("input[name=wind_mph]", "7")
    phone.page.click("#keep-it")
    phone.page.wait_for_selector("#outcome")

    after = sent(phone, "complete")
    assert (after["event_id"], after["device_seq"]) == (before["event_id"], before["device_seq"])
    assert after["body"]["conditions"]["wind_mph"] == "7"
    assert len(phone.holds("outbox")) == 2


def sent(phone, kind):
    """Return the only event of a kind in the outbox."""
    (event,) = [row["event"] for row in phone.holds("outbox") if row["event"]["kind"] == kind]
    return event


def test_what_was_sent_is_changed_by_an_event_of_its_own(phone, visit):
    phone.complete(visit.pk)
    phone.send()
    phone.page.wait_for_selector("#outcome :text('Record')")
    phone.page.click("#amend")
    phone.page.fill("input[name=wind_mph]", "7")
    phone.page.fill("[name=amend_reason]", "short")
    phone.page.click("#keep-it")
    phone.page.wait_for_selector(".problems")
    phone.page.fill("[name=amend_reason]", "The meter was read again.")
    phone.page.click("#keep-it")
    phone.page.wait_for_selector("#outcome")
    phone.send()

    change = FieldEvent.objects.get(kind="amend", device=phone.device)
    body = json.loads(change.told)["body"]
    assert body["changes"]["conditions"]["wind_mph"] == "7"
    assert list(body["changes"]) == ["conditions"]
    assert change.needs_review


def test_who_holds_a_certificate_puts_the_record_right_from_the_phone(phone_of, book, visit):
    phone = phone_of(book.people[Role.APPLICATOR])
    phone.complete(visit.pk)
    phone.send()
    phone.page.wait_for_selector("#outcome :text('Record')")
    phone.page.click("#amend")
    phone.page.fill("input[name=wind_mph]", "7")
    phone.page.fill("[name=amend_reason]", "The meter was read again.")
    phone.page.click("#keep-it")
    phone.page.wait_for_selector("#outcome")
    phone.send()

    change = FieldEvent.objects.get(kind="amend", device=phone.device)
    record = change.records.get()
    assert (record.wind_mph, record.amends) == (7, visit.records.get())
    phone.page.wait_for_selector(f"#outcome :text('Record {record.number}')")


def test_a_stop_that_was_not_planned_reaches_the_office_as_a_draft(phone):
    phone.go("unplanned/new")
    phone.page.fill("[name=where]", "3 Corner Lane")
    phone.page.click("[data-name=started_at] button.act")
    phone.page.click("#keep-it")
    phone.page.wait_for_selector("main:has-text('Kept')")
    phone.send()

    event = FieldEvent.objects.get(kind="unplanned", device=phone.device)
    assert json.loads(event.told)["body"]["where"] == "3 Corner Lane"
    assert event.needs_review


def test_a_lot_that_is_loaded_on_two_days_is_offered_once(phone_of, visit, more_stops):
    line = LoadLine.objects.filter(dispatch=visit.dispatch, lot__isnull=False).first()
    tomorrow = copied(visit.dispatch)
    tomorrow.day += timedelta(days=1)
    tomorrow.save(force_insert=True)
    again = copied(line)
    again.dispatch = tomorrow
    again.save(force_insert=True)
    (other,) = more_stops(1)
    arrives_at = tomorrow.leaves_yard_at + timedelta(days=1)
    Visit.objects.filter(pk=other.pk).update(dispatch=tomorrow, arrives_at=arrives_at)
    phone = phone_of()
    phone.go("unplanned/new")
    phone.page.wait_for_selector("[data-name=lot] .option")

    name = f"{line.lot.product.name}, {line.lot.lot_number}"
    assert phone.page.locator(f"[data-name=lot] .option:has-text('{name}')").count() == 1


def test_a_note_alone_reaches_the_office_with_its_photo(phone, visit):
    phone.context.set_offline(True)
    phone.open_stop(visit.pk)
    phone.page.click("#note-here")
    phone.page.wait_for_selector("main:has-text('About')")
    phone.page.click("#keep-it")
    phone.page.wait_for_selector(".problem:text('Write something')")
    phone.page.fill("[name=text]", "The gate hangs loose.")
    add_photo(phone)
    phone.kill()
    phone.page.click("a:text('The gate hangs loose.')")
    phone.page.click("#keep-it")
    phone.page.wait_for_selector("#outcome")
    phone.context.set_offline(False)
    phone.send()

    event = FieldEvent.objects.get(kind="note", device=phone.device)
    assert (event.visit, event.needs_review) == (visit, True)
    assert json.loads(event.told)["body"]["text"] == "The gate hangs loose."
    assert event.photos.get().kept_at is not None
    phone.go(f"stop/{visit.pk}")
    phone.page.wait_for_selector("#keep-it")


def test_what_is_unsent_can_be_saved_as_a_file_and_leaving_asks_first(phone, visit):
    phone.context.set_offline(True)
    phone.complete(visit.pk)
    phone.go("unsent")
    with phone.page.expect_download() as saving:
        phone.page.click("#save-file")
    told = json.loads(saving.value.path().read_text())
    asked = []
    phone.page.once("dialog", lambda dialog: (asked.append(dialog.message), dialog.dismiss()))
    phone.page.click("#leave")

    assert [event["kind"] for event in told["events"]] == ["start", "complete"]
    assert "2 things are not sent yet and will be LOST" in asked[0]
    assert len(phone.holds("outbox")) == 2

    phone.page.once("dialog", lambda dialog: dialog.accept())
    phone.page.click("#leave")
    phone.page.wait_for_selector(".notice.grave")
    assert phone.holds("outbox") == []
    phone.context.set_offline(False)
    wait_until(lambda: is_taken_back(phone))
    assert phone.page.locator("a.to-stop").count() == 0


def is_taken_back(phone):
    return Device.objects.get(pk=phone.device.pk).revoked_at is not None


def test_a_book_that_was_restored_gets_the_last_days_again(phone, visit, monkeypatch):
    phone.complete(visit.pk)
    phone.send()
    monkeypatch.setattr("services.field.api.sync.epoch", lambda: "another run")
    monkeypatch.setattr("services.field.api.packets.epoch", lambda: "another run")
    phone.page.click("#send-now")
    wait_until(lambda: answers(phone) == ["duplicate", "duplicate"])

    assert visit.records.count() == 1


def test_a_book_that_was_restored_gets_the_last_photos_again(phone, visit, monkeypatch):
    phone.open_stop(visit.pk)
    add_photo(phone)
    phone.finish()
    phone.send()
    mine = FieldPhoto.objects.filter(event__visit=visit, device=phone.device)
    photo = mine.get()
    original_of(photo).unlink()
    mine.update(kept_at=None)
    monkeypatch.setattr("services.field.api.sync.epoch", lambda: "another run")
    monkeypatch.setattr("services.field.api.packets.epoch", lambda: "another run")
    phone.page.click("#send-now")
    wait_until(lambda: mine.filter(kept_at__isnull=False).exists())

    assert original_of(photo).stat().st_size == photo.size


def test_what_was_left_untreated_is_told_with_the_reason(phone_of, visit):
    second = visit.course.plantings.get()
    first_id, second.pk, second.name = second.pk, None, "Far bed"
    second.save(force_insert=True)
    visit.course.plantings.add(second)
    phone = phone_of()
    phone.open_stop(visit.pk)
    phone.page.locator("summary:has-text('Left untreated')").click()
    phone.page.check(".tick:has-text('Far bed') input")
    phone.page.fill("[name=why]", "The dog was out.")
    phone.finish()
    phone.send()

    event = FieldEvent.objects.get(kind="complete", visit=visit)
    assert [record.planting_id for record in event.records.all()] == [first_id]
    (flag,) = [flag for flag in event.reply["flags"] if flag["code"] == "treated-in-part"]
    assert "Far bed. The dog was out." in flag["en"]


def answers(phone):
    """Return what the book said of each event."""
    return [row["reply"]["result"] for row in phone.holds("receipts")]


@pytest.mark.parametrize(("status", "word"), [(503, "busy"), (403, "let this phone in")])
def test_a_book_that_cannot_take_it_just_now_is_asked_again(phone, visit, status, word):
    phone.context.set_offline(True)
    phone.complete(visit.pk)
    refusal = {"status": status, "headers": {"Retry-After": "600"}, "body": "{}"}
    phone.page.route("**/api/v1/sync/", lambda route: route.fulfill(**refusal))
    phone.context.set_offline(False)
    phone.page.wait_for_selector(f"#unsent-words:text('{word}')")
    assert len(phone.holds("outbox")) == 2

    phone.page.unroute("**/api/v1/sync/")
    phone.send()

    assert visit.records.count() == 1


def test_a_batch_that_is_too_large_is_sent_in_parts(phone, visit):
    phone.context.set_offline(True)
    phone.complete(visit.pk)
    sizes = []

    def refuse(route):
        sizes.append(len(json.loads(route.request.post_data)["events"]))
        if sizes[-1] > 1:
            route.fulfill(status=413, body="{}")
        else:
            route.continue_()

    phone.page.route("**/api/v1/sync/", refuse)
    phone.context.set_offline(False)
    phone.send()

    assert [size for size in sizes if size] == [2, 1, 1]
    assert visit.records.count() == 1


def in_oregon(visit):
    """Put the stop where the rules ask who sold the product [OR-634-146]."""
    place = visit.course.property
    place.jurisdiction = "US-OR"
    place.save()


def test_what_only_the_place_asks_for_is_typed_without_signal_and_kept_once(phone_of, visit):
    in_oregon(visit)
    phone = phone_of()
    phone.context.set_offline(True)
    phone.open_stop(visit.pk)
    phone.page.fill("input[name=supplier_name]", "Ferry Seed and Feed")
    phone.page.wait_for_function("() => document.querySelector('.written').textContent")
    phone.kill()
    phone.open_stop(visit.pk)
    assert phone.page.input_value("input[name=supplier_name]") == "Ferry Seed and Feed"
    assert "asked by OR" in phone.says()
    phone.finish()
    phone.context.set_offline(False)
    phone.send()

    record = visit.records.get()
    assert record.supplier_name == "Ferry Seed and Feed"
    assert record.method  # [OR-634-146] asks for the equipment: the sprayer that the form shows


def test_elsewhere_the_form_asks_for_nothing_more(phone, visit):
    phone.open_stop(visit.pk)
    phone.page.wait_for_selector("#keep-it")

    assert phone.page.locator("input[name=supplier_name], input[name=method]").count() == 0


def test_what_the_place_asks_for_is_asked_in_spanish(phone_of, visit):
    in_oregon(visit)
    phone = phone_of(language="es")
    phone.open_stop(visit.pk)
    phone.page.wait_for_selector("input[name=supplier_name]")

    assert "Bought from" not in phone.says()


def test_the_phone_says_without_signal_whose_certificate_does_not_hold_there(phone_of, book, visit):
    # [40CFR171-101] a certificate counts by category and place
    holder = book.people[Role.APPLICATOR].applicator
    holder.certificates.update(expires_on=date(2026, 7, 1))
    phone = phone_of()
    phone.context.set_offline(True)
    phone.open_stop(visit.pk)
    phone.page.wait_for_selector("#keep-it")
    phone.page.click(f"[data-name=applicator] .option:has-text('{holder.name}')")

    phone.page.wait_for_selector("[data-name=supervisor]")
    assert f"{holder.name}, no certificate" in phone.says()
    assert "There is no proof that" in phone.page.inner_text("#against-applicator")

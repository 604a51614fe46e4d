"""Application records: kept as they were, numbered without gaps, flagged and never refused."""

from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from threading import Barrier, Thread
from uuid import UUID
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.core.exceptions import ValidationError
from django.db import connection

from clients.models import Property
from treatments.models import (
    ActiveIngredient,
    ApplicationRecord,
    Certificate,
    EarlierApplication,
    StockEntry,
)
from treatments.recording import clocks_of, fields_of, record_application, what_is_missing
from treatments.rules.facts import Conditions
from treatments.rules.records import FIELDS

NEW_YORK = ZoneInfo("America/New_York")
EVENT = UUID("019f0000-0000-7000-8000-000000000001")
SOON_AFTER = datetime(2026, 7, 6, 22, 50, tzinfo=UTC)


@pytest.fixture(autouse=True)
def soon_after():
    with time_machine.travel(SOON_AFTER, tick=False):
        yield


def codes(record):
    return {flag["code"] for flag in record.flags}


def test_a_record_repeats_what_stood_in_the_book_that_day(stated):
    record = record_application(**stated)

    assert record.customer_name == "Reading Society"
    assert record.customer_address == "2 Shelf Street, Nowhere, PA 00000"
    assert record.site_address == "2 Shelf Street, Nowhere, PA 00000"
    assert record.site_description == "Rose bed: hybrid rose (Rosa hybrids)"
    assert record.treated_area_sq_ft == 600
    assert record.epa_registration_number == "0-101"
    assert record.active_ingredients == "potassium salts of fatty acids 49 %"
    assert record.formulation.startswith("SL ")
    assert record.lot_number == "S-1"
    assert record.target_pest == "two-spotted spider mite (Tetranychus urticae)"
    assert record.business_licence_number == "BU-0000"


def test_a_later_change_of_the_book_leaves_the_record_as_it_was(stated, soap, library):
    record = record_application(**stated)

    soap.name, library.street = "Loud Soap", "3 Other Street"
    soap.save()
    library.save()
    record.refresh_from_db()

    assert record.product_name == "Quiet Soap"
    assert record.site_address.startswith("2 Shelf Street")


def test_a_usual_record_carries_no_flag(stated):
    assert record_application(**stated).flags == []


def test_records_are_numbered_one_after_the_other(stated):
    numbers = [record_application(**stated).number for _ in range(3)]

    assert numbers == [1, 2, 3]


def test_a_refused_record_leaves_no_gap(stated):
    record_application(**stated)
    with pytest.raises(ValidationError):
        record_application(**stated | {"started_at": datetime(2026, 7, 7, tzinfo=UTC)})

    assert record_application(**stated).number == 2
    assert StockEntry.objects.filter(kind="applied").count() == 2


def test_the_same_event_is_kept_once(stated, soap_lot):
    first = record_application(**stated, event_id=EVENT)

    again = record_application(**stated, event_id=EVENT)

    assert again == first
    assert soap_lot.left() == 119


def test_the_lot_gives_what_was_applied(stated, soap_lot):
    record = record_application(**stated)

    entry = record.stock_entries.get()
    assert (entry.lot, entry.amount, entry.kind) == (soap_lot, -9, "applied")
    assert soap_lot.left() == 119


@pytest.mark.parametrize(("amount", "needed"), [("128", False), ("128.001", True)])
def test_more_than_the_lot_held_is_kept_and_wants_counting(stated, soap_lot, amount, needed):
    record = record_application(**stated | {"product_amount": Decimal(amount)})

    assert ("count-needed" in codes(record)) is needed
    assert soap_lot.left() == 128 - Decimal(amount)


def test_an_application_without_a_lot_says_so(stated):
    record = record_application(**stated | {"lot": None})

    assert codes(record) == {"lot-unknown"}
    assert not record.stock_entries.exists()


def test_a_lot_of_another_product_is_a_slip_of_the_hand(stated, soap_lot):
    soap_lot.product.pk = None
    soap_lot.product.name, soap_lot.product.epa_registration_number = "Other Soap", "0-103"
    soap_lot.product._state.adding = True
    soap_lot.product.save()

    with pytest.raises(ValidationError, match="is no lot of"):
        record_application(**stated | {"product": soap_lot.product})


def test_a_time_without_a_zone_is_refused(stated):
    with pytest.raises(ValidationError) as refused:
        record_application(**stated | {"done_at": datetime(2026, 7, 6, 18, 40)})  # noqa: DTZ001

    assert refused.value.error_dict["done_at"][0].code == "naive"


def test_people_keep_out_for_hours_that_really_pass(stated):
    # [15USC260A] clocks go forward on 8 March 2026: 12 h after 20:00 is 09:00, not 08:00
    done = datetime(2026, 3, 7, 20, 0, tzinfo=NEW_YORK)

    record = record_application(**stated | {"started_at": done, "done_at": done})

    assert record.reentry_at.astimezone(NEW_YORK) == datetime(2026, 3, 8, 9, 0, tzinfo=NEW_YORK)
    assert record.reentry_words == "12 hours, and not until dry"


def test_a_label_without_hours_keeps_people_out_until_dry(stated, soap):
    soap.reentry_hours = None
    soap.save()

    record = record_application(**stated)

    assert (record.reentry_at, record.reentry_words) == (None, "when dry")


def test_a_sign_in_new_jersey_stays_72_hours(stated, library):
    # [NJAC-7-30-9-13] signs stay for 72 hours
    library.jurisdiction = "US-NJ"
    library.save()

    record = record_application(**stated)

    assert record.removal_at == record.done_at + timedelta(hours=72)


def test_where_no_sign_is_asked_for_and_none_stands_none_comes_down(stated):
    assert record_application(**stated).removal_at is None


def test_a_sign_that_was_put_up_stays_as_long_as_people_keep_out(stated):
    record = record_application(**stated | {"posted_at": stated["done_at"]})

    assert record.removal_at == record.reentry_at


@pytest.mark.parametrize(("minutes", "late"), [(0, False), (1, True)])
def test_a_record_in_pennsylvania_is_late_after_24_hours(stated, minutes, late):
    # [PA-128-35] within 24 hours
    received = stated["done_at"] + timedelta(hours=24, minutes=minutes)
    with time_machine.travel(received, tick=False):
        record = record_application(**stated)

    assert ("written-late" in codes(record)) is late


@pytest.mark.parametrize(("minutes", "ahead"), [(2, False), (3, True)])
def test_a_clock_that_ran_ahead_is_flagged(stated, minutes, ahead):
    captured = SOON_AFTER + timedelta(minutes=minutes)

    record = record_application(**stated | {"captured_at": captured})

    assert ("clock-ahead" in codes(record)) is ahead
    assert record.captured_at == captured


@pytest.mark.parametrize(
    ("hours", "from_paper", "flagged"), [(12, False, False), (13, False, True), (13, True, False)]
)
def test_what_was_written_down_long_after_says_why(stated, hours, from_paper, flagged):
    captured = stated["done_at"] + timedelta(hours=hours)
    with time_machine.travel(captured, tick=False):
        record = record_application(**stated | {"captured_at": captured, "from_paper": from_paper})

    assert ("written-long-after" in codes(record)) is flagged


def test_an_end_later_than_the_writing_is_flagged(stated):
    captured = stated["done_at"] - timedelta(minutes=10)

    assert "done-after-written" in codes(record_application(**stated | {"captured_at": captured}))


@pytest.mark.parametrize(("amount", "above"), [("15", False), ("15.03", True)])
def test_more_than_the_label_allows_is_kept_and_flagged(stated, amount, above):
    # the label's 5 fl oz/gal in 3 gallons are 15 fl oz
    record = record_application(**stated | {"product_amount": Decimal(amount)})

    assert ("rate-above-label" in codes(record)) is above


@pytest.mark.parametrize(("days", "broken"), [(6, True), (7, False)])
def test_an_interval_that_was_broken_is_flagged(stated, days, broken):
    record_application(**stated)
    later = timedelta(days=days)
    times = ("started_at", "done_at", "captured_at")

    with time_machine.travel(SOON_AFTER + later, tick=False):
        second = record_application(**stated | {name: stated[name] + later for name in times})

    assert ("interval-too-short" in codes(second)) is broken


def applied_elsewhere(planting, product, day):
    return EarlierApplication.objects.create(
        planting=planting,
        applied_on=day,
        product=product,
        product_name="Quiet Soap",
        taken_from="past.csv",
        taken_over_at=SOON_AFTER,
    )


@pytest.mark.parametrize(
    ("day", "broken"),
    [(date(2026, 6, 30), True), (date(2026, 6, 29), False), (date(2025, 6, 30), False)],
)
def test_what_was_applied_before_this_book_counts_among_the_flags(
    stated, rose_bed, soap, day, broken
):
    # the label of the soap asks for seven days; the record is of 6 July
    applied_elsewhere(rose_bed, soap, day)

    assert ("interval-too-short" in codes(record_application(**stated))) is broken


def test_what_a_phone_dated_ahead_counts_among_the_flags(stated):
    # the label of the soap asks for seven days; both are written down on 6 July
    ahead = stated["done_at"] + timedelta(days=5)
    now = stated["done_at"] + timedelta(hours=1)
    record_application(**stated | {"started_at": ahead, "done_at": ahead}, now=now)

    assert "interval-too-short" in codes(record_application(**stated, now=now))


def test_an_unknown_product_from_before_this_book_counts_for_nothing(stated, rose_bed):
    applied_elsewhere(rose_bed, None, date(2026, 7, 5))

    assert record_application(**stated).flags == []


def test_a_flag_is_a_sentence_with_its_facts(stated):
    record = record_application(**stated | {"product_amount": Decimal(16)})

    flag = next(flag for flag in record.flags if flag["code"] == "rate-above-label")
    assert flag["sentence"] % flag["facts"] == (
        "5.33 fl oz/gal of Quiet Soap is above the label's 5."
    )


def test_flags_from_above_are_kept_as_well(stated):
    flag = {"code": "visit-moved", "sentence": "The visit was moved meanwhile.", "facts": {}}

    assert record_application(**stated | {"flags": [flag]}).flags == [flag]


@pytest.mark.parametrize(("day", "valid"), [(date(2026, 7, 6), True), (date(2026, 7, 5), False)])
def test_the_certificate_must_hold_on_the_local_day(stated, day, valid):
    # 22:40 UTC is still 6 July in Pennsylvania
    Certificate.objects.update(expires_on=day)

    record = record_application(**stated)

    assert ("certificate-expired" in codes(record)) is not valid
    assert record.applicator_licence_number == ("PA-0007" if valid else "")


def test_a_local_day_is_that_of_the_place(stated):
    # 02:30 UTC on 8 July is 22:30 on 7 July in Pennsylvania
    done = datetime(2026, 7, 8, 2, 30, tzinfo=UTC)
    Certificate.objects.update(expires_on=date(2026, 7, 7))

    record = record_application(**stated | {"started_at": done, "done_at": done})

    assert record.applicator_licence_number == "PA-0007"
    assert fields_of(record)["application_date"] == "2026-07-07"


def test_a_certificate_of_another_state_is_none(stated):
    Certificate.objects.update(jurisdiction="US-NJ")

    assert "no-certificate" in codes(record_application(**stated))


def test_an_uncertified_person_applies_under_the_supervisor(stated, learner):
    record = record_application(**stated | {"applicator": learner})

    assert record.applicator_name == record.uncertified_applicator_name == "L. Earner"
    assert record.applicator_licence_number == ""
    assert (record.supervisor_name, record.supervisor_licence_number) == ("A. Holder", "PA-0007")
    assert record.training_proof == "Trained on 2026-02-01 by A. Holder."
    assert record.flags == []


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"expires_on": date(2026, 6, 30)}, "certificate-expired"),
        ({"suspended_from": date(2026, 6, 1)}, "certificate-suspended"),
    ],
)
def test_what_is_wrong_with_the_supervisors_certificate_is_flagged(stated, learner, changes, code):
    # [40CFR171-201] the supervisor is certified on the day
    Certificate.objects.update(**changes)

    record = record_application(**stated | {"applicator": learner})

    assert codes(record) == {code, "no-supervisor"}


@pytest.mark.parametrize(("kind", "flagged"), [("backpack", False), ("power", True)])
def test_a_sprayer_beyond_a_limited_certificate_is_flagged(stated, sprayer, kind, flagged):
    # [FL-482] a hand sprayer to 3 gallons or a backpack to 5, without power
    Property.objects.update(jurisdiction="US-FL")
    Certificate.objects.update(jurisdiction="US-FL", is_limited=True)
    stated["planting"].property.refresh_from_db()
    sprayer.kind = kind

    record = record_application(**stated | {"sprayer": sprayer})

    assert ("limited-sprayer" in codes(record)) is flagged


def test_what_was_measured_of_the_air_is_kept(stated):
    air = Conditions(
        at=stated["started_at"],
        wind_mph=Decimal("4.5"),
        wind_direction="SW",
        temperature_f=Decimal(72),
        humidity_percent=Decimal(55),
    )

    record = record_application(**stated | {"conditions": air, "weather": "clear"})

    assert (record.wind_mph, record.wind_direction) == (Decimal("4.5"), "SW")
    assert (record.temperature_f, record.humidity_percent, record.weather) == (72, 55, "clear")


@pytest.mark.parametrize(("wind", "flagged"), [("10", False), ("10.1", True)])
def test_wind_above_the_label_is_flagged(stated, soap, wind, flagged):
    soap.wind_maximum_mph = Decimal(10)
    soap.save()
    air = Conditions(at=stated["started_at"], wind_mph=Decimal(wind))

    record = record_application(**stated | {"conditions": air})

    assert ("wind-above-label" in codes(record)) is flagged


@pytest.mark.parametrize(("hour", "flagged"), [(16, True), (0, False)])
def test_bees_are_asked_after_by_the_hour_it_was_done(stated, soap, rose_bed, hour, flagged):
    # noon in June, or 20:30 in the evening, when the sun sets at 20:29
    soap.bloom_rule = "not while bees forage"
    soap.save()
    day = datetime(2026, 6, 6, hour, 30, tzinfo=UTC)

    record = record_application(**stated | {"started_at": day, "done_at": day})

    assert ("bees-forage" in codes(record)) is flagged


def test_groups_of_all_ingredients_are_copied(stated, soap):
    active = ActiveIngredient.objects.create(name="abamectin", irac_group="6")
    soap.contents.create(ingredient=active, percent_by_weight=Decimal(1))

    assert record_application(**stated).mode_of_action_groups == "6"


def test_every_field_of_the_rules_has_its_column(stated):
    assert set(fields_of(record_application(**stated))) == set(FIELDS)


def test_pennsylvania_asks_for_nothing_more_of_a_usual_record(stated):
    # [PA-128-35] names, address, product, number, amount, rate, applicator and licence
    assert what_is_missing(record_application(**stated)) == []


def test_minnesota_asks_for_wind_and_temperature(stated, library):
    # [MN-18B] wind speed and direction, temperature
    library.jurisdiction = "US-MN"
    library.save()

    missing = {needed.field for needed in what_is_missing(record_application(**stated))}

    assert {"wind_speed", "wind_direction", "air_temperature"} <= missing


def test_a_record_says_by_when_it_was_due_and_until_when_it_is_kept(stated):
    # [PA-128-35] 24 hours, three years
    clocks = clocks_of(record_application(**stated))

    assert clocks.due.due_at == stated["done_at"] + timedelta(hours=24)
    assert clocks.kept.keep_until == date(2029, 7, 6)


def test_a_record_is_as_late_as_the_moment_at_which_the_book_takes_it(stated):
    taken = datetime(2026, 7, 6, 23, 5, tzinfo=UTC)

    record = record_application(**stated, now=taken)

    assert record.received_at == taken
    assert "written-late" not in {flag["code"] for flag in record.flags}
    assert record.stock_entries.get().entered_at == taken


@pytest.mark.django_db(transaction=True)
def test_two_workers_leave_no_gap_and_no_double(stated):
    together = Barrier(3)

    def work():
        together.wait()
        record_application(**stated)
        connection.close()

    workers = [Thread(target=work) for _ in range(3)]
    [worker.start() for worker in workers]
    [worker.join() for worker in workers]

    numbers = ApplicationRecord.objects.order_by("number").values_list("number", flat=True)
    assert list(numbers) == [1, 2, 3]


@pytest.mark.django_db(transaction=True)
def test_two_workers_keep_one_event_once(stated):
    together = Barrier(2)

    def work():
        together.wait()
        record_application(**stated, event_id=EVENT)
        connection.close()

    workers = [Thread(target=work) for _ in range(2)]
    [worker.start() for worker in workers]
    [worker.join() for worker in workers]

    assert ApplicationRecord.objects.count() == 1

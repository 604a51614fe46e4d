"""What the models forbid, each through full_clean."""

from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.db import IntegrityError, transaction

from treatments.models import (
    AcceptedWarning,
    ApplicationRecord,
    Applicator,
    Business,
    Calibration,
    Certificate,
    LabelRate,
    Lot,
    Product,
    ProductIngredient,
    Rotation,
    RotationWeek,
    ScoutingCount,
    StockEntry,
)
from treatments.recording import record_application


def refused(instance, **columns):
    for name, value in columns.items():
        setattr(instance, name, value)
    with pytest.raises(ValidationError) as wrong:
        instance.full_clean()
    return " ".join(wrong.value.messages)


@pytest.mark.parametrize("number", ["0-101", "0-101-12", "100-1", "123456-12345", ""])
def test_a_registration_number_reads_as_labels_print_it(soap, number):
    # [EPA-LRM-14] company number, dash, product number; [40CFR152-132] distributor as third group
    soap.epa_registration_number = number

    soap.full_clean()


@pytest.mark.parametrize(
    "number", ["101", "0-", "EPA 0-101", "0-101-1-1", "100-AE", "0–101", "٠-١"]
)
def test_a_registration_number_is_nothing_else(soap, number):
    assert refused(soap, epa_registration_number=number)


def test_the_highest_temperature_is_above_the_lowest(soap):
    soap.temperature_minimum_f, soap.temperature_maximum_f = Decimal(50), Decimal(51)
    soap.full_clean()

    assert "above the lowest" in refused(soap, temperature_maximum_f=Decimal(50))


@pytest.mark.parametrize("column", ["price", "wind_maximum_mph", "reentry_hours"])
def test_limits_are_not_negative(soap, column):
    assert refused(soap, **{column: Decimal(-1)})


def test_protective_equipment_is_a_list_of_codes(soap):
    assert "list of codes" in refused(soap, protective_equipment="goggles")


def test_a_filter_class_is_one_that_exists(soap):
    assert "Unknown: Q" in refused(soap, respirator_filter_classes=["N", "Q"])


@pytest.mark.parametrize(("percent", "fits"), [("0", False), ("100", True), ("100.001", False)])
def test_a_content_lies_between_0_and_100_per_cent(soap, percent, fits):
    content = soap.contents.get()
    content.percent_by_weight = Decimal(percent)

    if fits:
        content.full_clean()
    else:
        assert "between 0 and 100" in refused(content)


def test_an_ingredient_stands_once_in_a_product(soap):
    content = soap.contents.get()
    again = ProductIngredient(
        product=soap, ingredient=content.ingredient, percent_by_weight=Decimal(1)
    )

    assert refused(again)


def test_the_highest_rate_is_at_least_the_lowest(soap):
    rate = soap.rates.get()
    rate.maximum = rate.minimum
    rate.full_clean()

    assert "at least the lowest" in refused(rate, maximum=rate.minimum - Decimal("0.001"))


def test_a_rate_stands_once_a_site_and_once_a_pest_of_it(soap, spider_mite):
    rate = {"product": soap, "plant_group": "rose", "minimum": 1, "maximum": 2}
    assert refused(LabelRate(**rate, basis="fl oz/gal"))

    LabelRate.objects.create(**rate, basis="fl oz/gal", pest=spider_mite)

    assert refused(LabelRate(**rate, basis="fl oz/gal", pest=spider_mite))


def test_a_basis_is_one_of_the_list(soap):
    assert refused(soap.rates.get(), basis="scoops")


def test_nobody_supervises_himself(applicator):
    assert "Nobody supervises himself" in refused(applicator, supervisor=applicator)


def test_a_certificate_expires_after_it_was_issued(applicator):
    certificate = applicator.certificates.get()

    assert "expires after" in refused(certificate, issued_on=certificate.expires_on)


def test_a_jurisdiction_is_written_as_iso_3166_2_has_it(applicator):
    assert refused(applicator.certificates.get(), jurisdiction="Pennsylvania")


@pytest.mark.parametrize(("days", "valid"), [(-1, False), (0, True), (364, True), (365, False)])
def test_a_certificate_holds_from_its_issue_to_its_last_day(db, days, valid):
    first = date(2026, 1, 1)
    holder = Applicator.objects.create(name="H.")
    Certificate.objects.create(
        applicator=holder,
        number="1",
        jurisdiction="US-PA",
        issued_on=first,
        expires_on=first + timedelta(days=364),
    )

    assert Certificate.objects.valid_on(first + timedelta(days=days)).exists() is valid


def test_the_business_is_one(business):
    Business(name="Second").save()

    assert [each.name for each in Business.objects.all()] == ["Second"]


def test_a_calibration_has_an_output(calibration):
    assert refused(calibration, gallons_per_1000_sq_ft=Decimal(0))


def test_a_calibration_ends_after_it_began(calibration):
    assert "ends after" in refused(calibration, expires_on=calibration.calibrated_on)


def test_a_lot_is_marked_or_says_why(soap):
    lot = Lot(product=soap, received_on=date(2026, 3, 2))
    assert "say why it is not marked" in refused(lot)

    lot.not_marked_reason = "The label was washed off."

    lot.full_clean()


def test_a_lot_number_stands_once_a_product(soap, soap_lot):
    assert refused(Lot(product=soap, lot_number="S-1", received_on=date(2026, 3, 2)))


@pytest.mark.parametrize(
    ("kind", "amount", "fits"),
    [
        ("received", 1, True),
        ("received", -1, False),
        ("disposed", -1, True),
        ("disposed", 1, False),
        ("applied", -1, True),
        ("applied", 1, False),
        ("counted", 0, True),
        ("counted", -5, True),
        ("returned", 0, False),
    ],
)
def test_what_leaves_the_store_is_negative(soap_lot, kind, amount, fits):
    entry = StockEntry(
        lot=soap_lot,
        kind=kind,
        amount=Decimal(amount),
        happened_at="2026-07-06T12:00Z",
        entered_by=soap_lot.entries.get().entered_by,
    )

    if fits:
        entry.full_clean()
    else:
        assert refused(entry)


def test_only_a_record_gives_the_store_back_what_it_took(stated):
    entry = record_application(**stated).stock_entries.get()
    back = StockEntry(
        lot=entry.lot,
        kind="applied",
        amount=Decimal(1),
        happened_at=entry.happened_at,
        entered_by=entry.entered_by,
        record=entry.record,
    )

    back.full_clean()


@pytest.mark.parametrize(
    ("columns", "sentence"),
    [
        ({"product_amount": Decimal(0)}, "Something was applied."),
        ({"mix_gallons": Decimal(0)}, "Something was applied."),
        ({"rate": Decimal(0)}, "Something was applied."),
        ({"void": True, "amendment_reason": "short"}, "ten signs or more"),
        ({"wind_mph": Decimal(-1)}, "greater than or equal to 0"),
        ({"humidity_percent": Decimal(101)}, "less than or equal to 100"),
    ],
)
def test_a_record_is_whole(stated, columns, sentence):
    record = record_application(**stated)
    record.pk, record.number = None, 2
    record._state.adding = True

    assert sentence in refused(record, **columns)


def test_a_record_ends_after_it_starts(stated):
    with pytest.raises(ValidationError, match="completed after it started"):
        record_application(**stated | {"done_at": stated["started_at"] - timedelta(seconds=1)})


@pytest.fixture
def rotation(spider_mite):
    return Rotation.objects.create(name="Soap", pest=spider_mite, plant_group="rose")


@pytest.mark.parametrize(
    ("columns", "fits"),
    [
        ({"rate": Decimal(3), "basis": "fl oz/gal"}, True),
        ({"rate": None, "basis": "fl oz/gal"}, False),
        ({"rate": Decimal(3), "basis": ""}, False),
        ({"rate": Decimal(3), "basis": "fl oz/gal", "step": "wash"}, False),
    ],
)
def test_a_spray_has_a_product_and_a_rate_and_other_steps_have_none(rotation, soap, columns, fits):
    week = RotationWeek(rotation=rotation, week=1, product=soap, **columns)

    if fits:
        week.full_clean()
    else:
        assert refused(week)


@pytest.mark.parametrize(
    ("days", "fits"),
    [
        ((5, 7, 9), True),
        ((7, 7, 7), True),
        ((0, 7, 9), False),
        ((8, 7, 9), False),
        ((5, 7, 6), False),
    ],
)
def test_the_days_of_a_week_follow_one_another(rotation, days, fits):
    week = RotationWeek(rotation=rotation, week=1, step="wash")
    week.minimum_days, week.planned_days, week.maximum_days = days

    if fits:
        week.full_clean()
    else:
        assert refused(week)


@pytest.mark.parametrize(("number", "fits"), [(0, False), (1, True), (26, True), (27, False)])
def test_a_rotation_has_26_weeks_at_most(rotation, number, fits):
    week = RotationWeek(rotation=rotation, week=number, step="watch")

    if fits:
        week.full_clean()
    else:
        assert refused(week)


def test_a_week_stands_once_in_a_rotation(rotation):
    rotation.weeks.create(week=1, step="wash")

    assert refused(RotationWeek(rotation=rotation, week=1, step="wash"))


def test_an_accepted_warning_has_a_reason(rotation, dispatcher):
    warning = AcceptedWarning(
        rotation=rotation, code="waxy-leaf", sentence="Waxy.", reason="", accepted_by=dispatcher
    )

    assert refused(warning)


@pytest.mark.parametrize(
    ("looked", "infested", "adults", "fits"),
    [(20, 20, 5, True), (20, 21, 5, False), (0, 0, 0, False), (20, 0, 0, True), (20, 0, 1, False)],
)
def test_a_count_is_one_of_leaves(
    rose_bed, spider_mite, dispatcher, looked, infested, adults, fits
):
    count = ScoutingCount(
        planting=rose_bed,
        pest=spider_mite,
        scouted_at="2026-06-01T12:00Z",
        scouted_by=dispatcher,
        leaves_looked_at=looked,
        leaves_infested=infested,
        adults=adults,
    )

    if fits:
        count.full_clean()
    else:
        assert refused(count)


def test_the_database_says_so_as_well(soap):
    # past full_clean the constraint itself stands
    with pytest.raises(IntegrityError), transaction.atomic():
        soap.rates.update(minimum=Decimal(9))


def test_what_a_record_points_at_is_not_removed(stated):
    record_application(**stated)

    for pointed_at in ("planting", "product", "pest", "lot", "applicator"):
        with pytest.raises(IntegrityError):
            stated[pointed_at].delete()

    assert ApplicationRecord.objects.count() == 1
    assert Product.objects.count() == 1


def test_calibrations_are_found_by_their_days(calibration):
    assert Calibration.objects.valid_on(calibration.expires_on).get() == calibration

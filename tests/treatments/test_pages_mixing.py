"""The pages of mixes, hoses, worksheets, tests with water and leftovers."""

import json
from decimal import Decimal
from pathlib import Path

import pytest
import time_machine

from clients.access import Reach
from treatments.models import Calibration, LabelRate, LeftoverNote, Product, RotationWeek, WaterTest

NOW = "2026-07-06T16:00:00Z"
CASES = Path(__file__).parents[1] / "reference" / "mixing_cases.json"


@pytest.fixture(autouse=True)
def clock():
    with time_machine.travel(NOW):
        yield


@pytest.fixture
def office(client, dispatcher):
    client.force_login(dispatcher)
    return client


@pytest.fixture
def holder(client, applicator):
    client.force_login(applicator.user)
    return client


@pytest.fixture
def typed(rose_bed, soap, sprayer):
    return {"planting": rose_bed.pk, "product": soap.pk, "rate": "3", "sprayer": sprayer.pk}


def case(name):
    """Return a worked example by its name: inputs, and what the source prints or should have."""
    cases = json.loads(CASES.read_text(encoding="utf-8"))["cases"]
    found = next(each for each in cases if each["id"] == name)
    inputs = {key: str(each["value"]) for key, each in found["inputs"].items()}
    return inputs, Decimal(str(found["expected"]["value"])), Decimal(str(found["tolerance"]["abs"]))


def text_of(answer):
    return " ".join(answer.content.decode().split())


def test_a_mix_is_worked_out_for_a_planting(office, typed):
    page = text_of(office.get("/mix/", typed))

    assert "<dd>9 fl oz <small>jug</small></dd>" in page  # 600 sq ft at 5 gal, 3 fl oz/gal
    assert "the label: 2.5 to 5 fl oz/gal" in page
    assert '<td class="number">15 fl oz</td>' in page  # the label's most in this tank
    assert "Pour in" in page
    assert "The label is the law" in page


def test_a_mix_that_is_refused_shows_no_amount(office, typed):
    page = text_of(office.get("/mix/", typed | {"rate": "5.5"}))

    assert "Do not mix" in page
    assert "5.5 fl oz/gal is above the label" in page
    assert "16.5" not in page


@pytest.mark.parametrize(
    ("name", "rate", "basis", "shown"),
    [
        ("conc-2gal-pump", "rate", "fl oz/gal", "4 fl oz"),
        ("conc-ec-20gal", "rate", "pt/100 gal", "6.4 fl oz"),
        ("pct-3pct-3gal", "strength", "% v/v", "11.52 fl oz"),
    ],
)
def test_the_examples_of_the_handbooks_come_out_on_the_page(
    office, typed, soap, sprayer, name, rate, basis, shown
):
    inputs, expected, _tolerance = case(name)
    soap.rates.update(basis=basis, minimum="0.1", maximum="100")
    sprayer.tank_gallons = Decimal(50)
    sprayer.save()
    gallons = inputs.get("tank") or inputs["batch"]

    answer = office.get("/mix/", typed | {"rate": inputs[rate], "spray_gallons": gallons})

    exact = answer.context["mixed"].batches[0].rows[0].portion.exact
    assert exact.to(type(exact.unit)("fl oz")).amount == expected
    assert f"{expected.normalize():f} fl oz" == shown


def test_a_form_that_is_wrong_keeps_what_was_typed(office, typed):
    answer = office.get("/mix/", typed | {"rate": "a lot", "area_sq_ft": "-3"})

    assert answer.status_code == 422
    assert 'value="a lot"' in text_of(answer)
    assert 'value="-3"' in text_of(answer)


def test_a_part_of_the_page_says_what_is_still_wanted(office, typed):
    answer = office.get("/mix/", typed | {"rate": ""}, headers={"hx-request": "true"})

    assert answer.status_code == 200
    assert "Still wanted" in text_of(answer)


def test_a_link_begins_the_form_and_finds_nothing_wrong(office, rose_bed, soap):
    answer = office.get("/mix/", {"planting": rose_bed.pk, "product": soap.pk})

    assert answer.status_code == 200
    assert "is to be put right" not in text_of(answer)
    assert f'<option value="{rose_bed.pk}" selected>' in text_of(answer)


def test_a_week_of_a_rotation_begins_the_form(office, soap, spider_mite, owner):
    from treatments.models import Rotation

    rotation = Rotation.objects.create(name="R", pest=spider_mite, plant_group="rose")
    week = RotationWeek.objects.create(
        rotation=rotation, week=1, product=soap, rate=Decimal("2.5"), basis="fl oz/gal"
    )

    page = text_of(office.get("/mix/", {"week": week.pk}))

    assert 'value="2.5"' in page
    assert f'<option value="{soap.pk}" selected>' in page


@pytest.mark.parametrize("week", ["999999", "x", "-1", "9" * 30])
def test_a_week_that_is_none_is_not_found_or_left_out(office, week):
    assert office.get("/mix/", {"week": week}).status_code in (200, 404)


def test_a_technician_mixes_only_for_plantings_within_reach(
    client, technician, typed, rose_bed, monkeypatch
):
    client.force_login(technician)
    assert client.get("/mix/", typed).status_code == 422

    monkeypatch.setattr(Reach, "properties_of", lambda user: [rose_bed.property_id])

    assert client.get("/mix/", typed).status_code == 200


@pytest.mark.parametrize("address", ["/mix/", "/mix/hose-end/", "/leftovers/"])
def test_an_inspector_and_a_stranger_do_not_mix(client, inspector, address):
    assert client.get(address).status_code == 302
    client.force_login(inspector)
    assert client.get(address).status_code == 403


@pytest.fixture
def hose(soap, typed):
    LabelRate.objects.create(
        product=soap, plant_group="rose", minimum=1, maximum=3, basis="fl oz/1000 ft2"
    )
    return typed | {"basis": "fl oz/1000 ft2", "sprayer": "", "settings": "0.5 1"}


def test_the_dial_needed_and_the_one_to_set_are_shown(office, hose):
    inputs, needed, _tolerance = case("hose-end-dial")

    page = text_of(
        office.get("/mix/hose-end/", hose | {"output_gal_per_1000_sq_ft": inputs["output"]})
    )

    assert f"<dd>{needed} <small>fl oz in a gallon" in page
    assert "<dd>0.5 <small>fl oz in a gallon" in page
    assert "back-siphonage" in page


@pytest.mark.parametrize("dial", ["0,5 1", "half", "0", "1 -2", "NaN", "129"])
def test_settings_that_are_none_are_refused_and_kept(office, hose, dial):
    answer = office.get("/mix/hose-end/", hose | {"settings": dial})

    assert answer.status_code == 422
    assert f'value="{dial}"' in text_of(answer)


WHO = {"nozzle": "gun", "calibrated_on": "2026-07-06", "do": "keep"}


def runs(name, *values):
    return {f"{name}_{place}": value for place, value in enumerate(values)}


def sheet(sprayer, name):
    return f"/sprayers/{sprayer.pk}/calibrations/new/{name}/"


def worksheets_filled():
    """Yield each worksheet with a published example and its gallons on an acre."""
    uf, uf_gallons, _ = case("cal128-uf")
    yield (
        "ounces",
        {"swath_inches": "36"}
        | runs("seconds", *[uf["time"]] * 3)
        | runs("caught_fl_oz", *[uf["caught"]] * 3),
        uf_gallons,
        Decimal("0.001"),
    )
    gun, gun_gallons, gun_off = case("cal-gun-gpa")
    times, _mean, _off = case("cal-gun-avg")
    yield (
        "timed",
        runs("seconds", times["t1"], times["t2"], times["t3"])
        | runs("caught_gallons", gun["caught"]),
        gun_gallons,
        gun_off + Decimal("0.05"),
    )
    refill, refill_gallons, refill_off = case("cal-refill-660")
    yield (
        "refill",
        {"length_ft": refill["length"], "swath_ft": refill["swath"]}
        | runs("used_gallons", *[refill["used"]] * 3),
        refill_gallons,
        refill_off,
    )


@pytest.mark.parametrize(("name", "readings", "gallons", "off"), list(worksheets_filled()))
def test_a_worksheet_is_worked_out_and_kept(holder, sprayer, name, readings, gallons, off):
    shown = holder.post(sheet(sprayer, name), readings | {"do": "work"})
    kept = holder.post(sheet(sprayer, name), readings | WHO)

    assert abs(shown.context["output"].gallons_per_acre - gallons) <= off
    assert (shown.status_code, kept.status_code) == (200, 302)
    assert Calibration.objects.get().readings


def test_two_hundred_and_fifty_feet_are_scaled_up(holder, sprayer):
    # 1.25 gallons in 20 seconds on 250 square feet, a Colorado fact sheet's: 5 on 1,000
    readings = {"area_sq_ft": "250"} | runs("seconds", "20", "20", "20")
    readings |= runs("caught_gallons", "1.25")

    page = text_of(holder.post(sheet(sprayer, "test-area"), readings | {"do": "work"}))

    assert "<dd>5 <small>gal" in page
    assert "[PES-SPRAY-GUN]" in page


def test_too_few_runs_are_refused_with_a_sentence_and_kept_in_the_form(holder, sprayer):
    readings = runs("seconds", "77", "79") | runs("caught_gallons", "5.25")

    answer = holder.post(sheet(sprayer, "timed"), readings | WHO)

    assert answer.status_code == 422
    assert "Measure at least 3 times; there are 2 readings." in text_of(answer)
    assert 'value="79"' in text_of(answer)


@pytest.mark.parametrize(
    ("second", "says", "kept"),
    [
        ("105", "", True),
        ("106", "Nozzle 2 flows +6.0 %", True),
        ("111", "Replace the nozzle", False),
    ],
)
def test_a_nozzle_is_warned_of_and_stopped(holder, sprayer, second, says, kept):
    readings = runs("seconds", "77", "79", "78") | runs("caught_gallons", "5.25")
    readings |= runs("nozzle_catches", "100", second) | {"new_nozzle": "100"}

    shown = holder.post(sheet(sprayer, "timed"), readings | {"do": "work"})
    answer = holder.post(sheet(sprayer, "timed"), readings | WHO)

    assert says in text_of(shown)
    assert answer.status_code == (302 if kept else 422)
    assert Calibration.objects.exists() is kept


def test_what_cannot_be_read_stays_in_its_place(holder, sprayer):
    readings = runs("seconds", "77", "a minute", "78") | runs("caught_gallons", "5.25")

    answer = holder.post(sheet(sprayer, "timed"), readings | {"do": "work"})

    assert answer.status_code == 422
    assert 'value="a minute"' in text_of(answer)


def test_the_crew_works_it_out_and_does_not_keep_it(client, technician, sprayer):
    client.force_login(technician)
    readings = runs("seconds", "77", "79", "78") | runs("caught_gallons", "5.25")

    shown = client.post(sheet(sprayer, "timed"), readings | {"do": "work"})
    kept = client.post(sheet(sprayer, "timed"), readings | WHO)

    assert "228.7" in text_of(shown)
    assert kept.status_code == 403
    assert not Calibration.objects.exists()


def test_the_office_does_not_keep_a_calibration(office, sprayer):
    readings = runs("seconds", "77", "79", "78") | runs("caught_gallons", "5.25")

    assert office.post(sheet(sprayer, "timed"), readings | WHO).status_code == 403


def test_the_course_for_each_width_stands_beside_the_worksheets(holder, sprayer):
    page = text_of(holder.get(f"/sprayers/{sprayer.pk}/calibrations/new/"))

    assert "204.2 ft" in page  # 20 inches [LSU-OUNCE]
    assert "56.7 ft" in page  # 6 feet, printed as 57 [NCSU-BACKPACK]


TESTED = {"plants_tested": "1", "water_amount": "2", "water_unit": "qt", "tested_on": "2026-07-06"}


def test_a_test_with_water_is_kept_and_scaled(client, technician, rose_bed, monkeypatch):
    monkeypatch.setattr(Reach, "properties_of", lambda user: [rose_bed.property_id])
    client.force_login(technician)
    rose_bed.plants = 6
    rose_bed.save()

    answer = client.post(f"/plantings/{rose_bed.pk}/water/", TESTED)

    assert answer.status_code == 302
    assert WaterTest.objects.get().tested_by == technician
    # 2 quarts a tree, 6 trees: 3 gallons [PES-HOSE-END]
    assert "3 gal" in text_of(client.get(f"/plantings/{rose_bed.pk}/water/"))


def test_a_test_on_more_than_there_is_is_refused_and_kept_in_the_form(office, rose_bed):
    typed = TESTED | {"plants_tested": "", "strip_ft": "61"}

    answer = office.post(f"/plantings/{rose_bed.pk}/water/", typed)

    assert answer.status_code == 422
    assert "only 60.0 ft long" in text_of(answer)
    assert 'value="61"' in text_of(answer)


def test_a_planting_out_of_reach_has_no_test(client, technician, rose_bed):
    client.force_login(technician)

    assert client.post(f"/plantings/{rose_bed.pk}/water/", TESTED).status_code == 404


def test_a_mix_goes_by_the_test_where_nothing_else_tells(office, typed, soap, rose_bed):
    soap.rates.update(gallons_per_1000_sq_ft=None)
    assert "Nobody knows how much spray it takes" in text_of(office.get("/mix/", typed))
    office.post(f"/plantings/{rose_bed.pk}/water/", TESTED | {"water_amount": "0.3"})

    page = text_of(office.get("/mix/", typed))

    assert "<dd>9 fl oz <small>jug</small></dd>" in page  # 40 plants at 0.3 qt are 3 gal
    assert "the test with water of" in page


LEFT = {
    "kind": "mix",
    "gallons": "0.5",
    "done": "sprayed on site",
    "note": "the north bed, within rate",
    "happened_on": "2026-07-06",
}


def test_what_became_of_a_leftover_is_noted(client, technician, soap):
    client.force_login(technician)

    answer = client.post("/leftovers/new/", LEFT | {"product": soap.pk})

    assert answer.status_code == 302
    page = text_of(client.get("/leftovers/"))
    assert "the north bed, within rate" in page
    assert "Never pour it into a drain" in page


def test_a_technician_reads_only_the_own_notes(client, technician, dispatcher, soap):
    client.force_login(dispatcher)
    client.post("/leftovers/new/", LEFT | {"product": soap.pk})
    client.force_login(technician)

    assert "the north bed" not in text_of(client.get("/leftovers/"))


def test_a_note_without_an_amount_is_refused(office, soap):
    answer = office.post("/leftovers/new/", LEFT | {"product": soap.pk, "gallons": "0"})

    assert answer.status_code == 422
    assert not LeftoverNote.objects.exists()


def test_undiluted_concentrate_goes_back_to_its_lot(office, soap_lot):
    back = {"lot": soap_lot.pk, "amount": "6", "is_undiluted": "on"}

    office.post("/leftovers/concentrate/", back)

    assert soap_lot.left() == 134


def test_what_was_diluted_does_not_go_back(office, soap_lot):
    answer = office.post("/leftovers/concentrate/", {"lot": soap_lot.pk, "amount": "6"})

    assert answer.status_code == 422
    assert "never goes back" in text_of(answer)
    assert soap_lot.left() == 128


def test_a_technician_puts_nothing_into_the_store(client, technician, soap_lot):
    client.force_login(technician)

    assert client.get("/leftovers/concentrate/").status_code == 403


def test_store_planting_and_rotation_lead_to_the_mix(office, soap_lot, rose_bed):
    assert f"/mix/?product={soap_lot.product_id}" in text_of(office.get("/store/"))
    place = text_of(office.get(f"/properties/{rose_bed.property_id}/"))
    assert f"/mix/?planting={rose_bed.pk}" in place
    assert f"/plantings/{rose_bed.pk}/water/" in place


def test_an_adjuvant_without_a_rate_is_asked_for_it(office, typed):
    spread = Product.objects.create(name="Spread", kind="adjuvant")

    answer = office.get("/mix/", typed | {"adjuvant": spread.pk})

    assert answer.status_code == 422
    assert "Give the rate of the adjuvant." in text_of(answer)


def test_many_plantings_ask_as_often_as_one(office, typed, rose_bed, count_queries):
    once = count_queries("/mix/", **typed)
    for number in range(4):
        rose_bed.pk, rose_bed.name = None, f"Bed {number}"
        rose_bed.save()

    assert count_queries("/mix/", **typed) == once

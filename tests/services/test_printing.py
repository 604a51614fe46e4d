"""Papers say all that they promise, the same data as the same bytes, and whatever is typed as text.

What must stand on a visit sheet follows the emergency lines of the EPA's page "In Case of Pesticide
Emergency" [EPA-EMERGENCY] and the label's own limits; the sign that of N.J.A.C. 7:30-9.13.
"""

import io
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal

import pytest
from pypdf import PdfReader

from clients.models import Neighbour
from services import dispatching
from services.completing import ApplicationReport, complete_visit
from services.mixing import mixing_of
from services.models import Visit
from services.printing import records_pdf, summary_pdf, visit_sheets_pdf
from services.printing.stops import stop_of
from treatments import chain
from treatments.models import ApplicationRecord, Business
from treatments.recording import amend_application, record_application, void_application
from treatments.rules.facts import Conditions

NOW = datetime(2026, 7, 6, 14, tzinfo=UTC)


def pages_of(paper):
    return [page.extract_text() for page in PdfReader(io.BytesIO(paper)).pages]


def things_of(paper):
    """Return everything that a file holds beside what is drawn, unpacked."""
    reader = PdfReader(io.BytesIO(paper), strict=True)
    return " ".join(str(reader.get_object(number)) for number in range(1, reader.trailer["/Size"]))


def text_of(paper):
    return " ".join(" ".join(pages_of(paper)).split())


@pytest.fixture
def route(visits, soap_lot, calibration, crew, owner, on_monday):
    """The first visit, soap on the roses, given to the crew for Monday."""
    soap = visits[0].rotation_week.product
    soap.wind_maximum_mph, soap.temperature_maximum_f = Decimal(10), Decimal(90)
    soap.rainfast_hours = Decimal(4)
    soap.protective_equipment = ["chemical-resistant-gloves", "protective-eyewear"]
    soap.save()
    plan = dispatching.dispatch_day(day=on_monday, visits=[visits[0]], by=owner, now=NOW)
    return plan.dispatches[0]


@pytest.fixture
def made(visits, rose_bed, soap_lot, applicator, sprayer, on_monday):
    """The first visit as it was made at dusk: one record, a sign put up."""
    begun = datetime(2026, 7, 6, 13, 0, tzinfo=UTC)
    complete_visit(
        visits[0],
        reports=[
            ApplicationReport(rose_bed, soap_lot, Decimal("7.5"), Decimal(3), sprayer=sprayer)
        ],
        conditions=Conditions(at=begun, wind_mph=Decimal(4), temperature_f=Decimal(72)),
        started_at=begun,
        done_at=begun + timedelta(minutes=40),
        applicator=applicator,
        by=applicator.user,
        posted_at=begun + timedelta(minutes=41),
        now=NOW,
    )
    return Visit.objects.with_all_that_is_shown().get(pk=visits[0].pk)


def test_the_sheets_begin_with_the_crews_day(route, applicator):
    first = " ".join(pages_of(visit_sheets_pdf([route], language="en", now=NOW))[0].split())

    for promised in [
        "Crew one",
        "Monday, July 6, 2026",
        "PA-0007",
        "Truck one",
        "Backpack 1",
        "Quiet Soap",
        "S-1, Mar 1, 2028",
        "chemical-resistant gloves",
        "911",
        "1-800-222-1222",
        "1-800-424-8802",
        "The label is the law",
    ]:
        assert promised in first


def test_the_paper_says_which_ways_no_road_server_told(route):
    route.travel |= {"by": "roads", "untold": ["Ferry yard – Library"]}
    route.save()

    told = text_of(visit_sheets_pdf([route], language="en", now=NOW))

    assert "reckoned from the straight line: Ferry yard – Library." in told


def test_the_paper_says_after_which_stop_the_sprayer_is_rinsed(route, visits):
    hours = {"from": NOW.isoformat(), "until": (NOW + timedelta(minutes=10)).isoformat()}
    route.legs = [*route.legs, hours | {"kind": "rinse", "after": visits[0].pk, "gallons": "1.20"}]
    route.save()

    told = text_of(visit_sheets_pdf([route], language="en", now=NOW))

    assert "After stop 1 rinse the sprayer three times, with 1.2 gal in all" in told


@pytest.mark.parametrize(
    ("hours", "state", "is_told"),
    [
        (73, "US-NJ", True),  # [NJAC-7-30-9-13] the sign stays for 72 hours
        (71, "US-NJ", False),
        (73, "US-MD", False),  # [MD-5-208] the customer takes it down
    ],
)
def test_the_paper_says_which_sign_the_crew_takes_down_on_its_way(
    route, stated, library, hours, state, is_told
):
    arrives = route.visits.get().arrives_at
    library.jurisdiction = state
    library.save()
    done = arrives - timedelta(hours=hours)
    record_application(
        **stated | {"started_at": done, "done_at": done, "posted_at": done}, now=arrives
    )

    told = text_of(visit_sheets_pdf([route], language="en", now=NOW))

    assert ("At stop 1 take down the sign that was put up on" in told) is is_told


def test_a_stop_tells_all_that_the_crew_needs_on_one_page(route, library, settings):
    library.bees = library.pets = True
    library.gate_code, library.access_note = "4711", "Ring at the side door."
    library.save()
    Neighbour.objects.create(property=library, name="Wren Next-Door", phone="555-0199")

    pages = pages_of(visit_sheets_pdf([route], language="en", now=NOW))
    stop = " ".join(pages[1].split())

    assert len(pages) == 2
    for promised in [
        "2 Shelf Street",
        "Bee hives, pets",
        "Wren Next-Door",
        "Gate code 4711",
        "Ring at the side door.",
        "Rose bed",
        "600 sq ft, against two-spotted spider mite",
        "WARNING / AVISO",
        "EPA no. 0-101",
        "lot S-1",
        "potassium salts of fatty acids",
        "7.5 fl oz",
        "2.5 to 5 fl oz/gal",
        "hollow cone",
        "Rinse the measures",
        "protective eyewear",
        "at most 10 mph",
        "at most 90 °F",
        "4 dry hours after",
        "Keep people and pets out for 12 hours",
        "until the spray has dried",
        "Signature",
    ]:
        assert promised in stop


def test_the_mix_agrees_with_the_gallons_of_the_label(route, visits, crew):
    # Arithmetic of the label: 600 sq ft at 5 gal on 1,000 sq ft are 3 gal; at 2.5 fl oz 7.5 fl oz.
    visit = Visit.objects.with_all_that_is_shown().get(pk=visits[0].pk)

    mix = mixing_of(visit, crew, date(2026, 7, 6)).mix

    assert mix.spray_gallons() == 3
    assert str(mix.product) == "7.5 fl oz"


def test_plantings_of_a_stop_share_their_tanks(route, course, rose_bed, crew, visits):
    twin = rose_bed
    twin.pk, twin.name = None, "Second bed"
    twin.save(force_insert=True)
    course.plantings.add(twin)
    visit = Visit.objects.with_all_that_is_shown().get(pk=visits[0].pk)

    mix = mixing_of(visit, crew, date(2026, 7, 6)).mix

    assert [tank.gallons for tank in mix.tanks()] == [Decimal(4), Decimal(2)]
    assert str(mix.product) == "15 fl oz"


def test_without_a_sprayer_the_sheet_says_so_and_no_amount(route, visits, crew):
    crew.truck.sprayers.clear()
    visit = Visit.objects.with_all_that_is_shown().get(pk=visits[0].pk)

    stop = stop_of(visit, day=date(2026, 7, 6), crew=crew)

    assert stop.mix.tanks == ()
    assert "No sprayer" in stop.findings[0]


def test_a_sign_is_named_with_when_it_may_come_down(route, library, visits, crew):
    library.jurisdiction = "US-NJ"
    library.save()

    stop = text_of(visit_sheets_pdf([route], language="en", now=NOW))

    assert "Sign NJ, white / dark" in stop  # N.J.A.C. 7:30-9.13: white, dark lettering, 72 hours
    assert "Put up: at start of application" in stop
    assert "The sign comes down not before Thu Jul 9" in stop


def test_a_place_whose_rules_nobody_read_is_marked(route, library):
    library.jurisdiction = "US-NV"
    library.save()

    assert "not verified here" in text_of(visit_sheets_pdf([route], language="en", now=NOW))


def test_a_stop_without_a_spray_says_what_is_done(route, visits):
    week = visits[0].rotation_week
    week.step, week.product, week.rate, week.basis = "wash", None, None, ""
    week.save()

    stop = text_of(visit_sheets_pdf([route], language="en", now=NOW))

    assert "Nothing is sprayed at this stop." in stop
    assert "Wash down with water" in stop


def test_gate_codes_can_be_left_out(route, library):
    library.gate_code = "4711"
    library.save()

    paper = visit_sheets_pdf([route], language="en", now=NOW, with_gate_codes=False)

    assert "4711" not in text_of(paper)
    assert "The gate code is shown on the day." in text_of(paper)


def test_the_code_on_the_sheet_leads_to_the_page_of_the_visit(route, visits, crew, settings):
    visit = Visit.objects.with_all_that_is_shown().get(pk=visits[0].pk)

    stop = stop_of(visit, day=date(2026, 7, 6), crew=crew)

    assert stop.place.visit_address == f"{settings.ADDRESS}/visits/{visit.pk}/"


@pytest.mark.parametrize("language", ["en", "es"])
def test_the_same_day_gives_the_same_bytes(route, language):
    first = visit_sheets_pdf([route], language=language, now=NOW)

    assert visit_sheets_pdf([route], language=language, now=NOW) == first


def test_days_are_written_in_the_language_of_the_crew(route):
    assert "lunes 6 de julio de 2026" in text_of(visit_sheets_pdf([route], language="es", now=NOW))


def test_the_paper_is_as_large_as_the_business_says(route, business):
    Business.objects.filter(pk=business.pk).update(paper=Business.Paper.A4)

    page = PdfReader(io.BytesIO(visit_sheets_pdf([route], language="en", now=NOW))).pages[0]

    # [ISO 216] A4 is 210 mm by 297 mm
    assert round(float(page.mediabox.width) / 72 * 25.4) == 210
    assert round(float(page.mediabox.height) / 72 * 25.4) == 297


def test_a_days_paper_asks_as_often_for_two_stops_as_for_one(
    route, visits, second_course, owner, on_monday, django_assert_max_num_queries
):
    with django_assert_max_num_queries(60) as alone:
        visit_sheets_pdf([route], language="en", now=NOW)
    both = [visits[0], second_course.visits.get(rotation_week__week=1)]
    plan = dispatching.dispatch_day(day=on_monday, visits=both, by=owner, now=NOW)

    with django_assert_max_num_queries(len(alone.captured_queries)):
        paper = visit_sheets_pdf(plan.dispatches, language="en", now=NOW)

    assert len(pages_of(paper)) == 3


HOSTILE = '<b>Rose</b> & "sons" =1+1 \u202e\u0000 <img src=x onerror=alert(1)> ' + "W" * 60


def test_hostile_names_print_as_text(route, library, rose_bed, made):
    library.street, rose_bed.name = HOSTILE.replace("\x00", ""), HOSTILE.replace("\x00", "")[:200]
    library.save()
    rose_bed.save()

    sheets = visit_sheets_pdf([route], language="en", now=NOW)
    letter = summary_pdf(Visit.objects.with_all_that_is_shown().get(pk=made.pk))

    assert '<b>Rose</b> & "sons" =1+1' in text_of(sheets)
    assert "onerror=alert(1)" in text_of(letter)
    assert all("/JavaScript" not in things_of(paper) for paper in (sheets, letter))


def test_a_record_prints_every_field_with_who_asks(made):
    record = made.records.get()

    text = text_of(records_pdf([record], language="en", now=NOW))

    for promised in [
        f"Application record {record.number}",
        "2026-07-06 09:40",
        "Reading Society",
        "Rose bed: hybrid rose (Rosa hybrids)",
        "600 sq ft",
        "Quiet Soap",
        "0-101",
        "7.5 fl oz in 3 gal",
        "A. Holder",
        "PA-0007",
        "4 mph",
        "posted 2026-07-06 09:41",
        "7 Pa. Code 128.35",  # the citation of Pennsylvania's record rule
        "not applicable",
    ]:
        assert promised in text


def test_amendments_stand_under_the_record_with_before_and_after(made, applicator):
    record = made.records.get()
    second = amend_application(
        record,
        reason="The measure was read wrongly.",
        by=applicator.user,
        product_amount=Decimal(7),
    )

    text = text_of(records_pdf([record, second], language="en", now=NOW))

    assert text.count("Application record 1") >= 1
    assert "amended once" in text
    assert "The measure was read wrongly." in text
    assert "7 fl oz in 3 gal" in text
    assert "7.5 fl oz 7 fl oz" in text  # before and after
    assert len(pages_of(records_pdf([record, second], language="en", now=NOW))) <= 2


def test_a_void_record_says_so_across_the_page(made, applicator):
    record = made.records.get()
    void_application(record, reason="Entered for the wrong place.", by=applicator.user)

    text = text_of(records_pdf([record], language="en", now=NOW))

    assert "VOID" in text
    assert "Entered for the wrong place." in text


def test_flags_of_a_record_are_printed_as_sentences(stated):
    record = record_application(**{**stated, "lot": None})

    text = text_of(records_pdf([record], language="en", now=NOW))

    assert "No lot is named" in text


def test_a_records_paper_is_the_same_after_the_product_changes(made, soap, reading_society):
    record = made.records.get()
    first = records_pdf([record], language="en", now=NOW)
    soap.name, reading_society.name = "Louder Soap", "Somebody Else"
    soap.save()
    reading_society.save()

    again = records_pdf([ApplicationRecord.objects.get(pk=record.pk)], language="en", now=NOW)

    assert again == first


def test_records_and_letters_print_the_head_of_the_journal(made):
    head = chain.head()
    told = f"{head.size} entries, root {head.root.hex()[:16]} …"

    assert told in text_of(records_pdf(made.records.all(), language="en", now=NOW))
    assert told in text_of(summary_pdf(made))


def test_the_letter_says_first_when_it_is_safe(made):
    text = text_of(summary_pdf(made))

    # 12 hours of the label after 9:40 in the morning, by arithmetic
    assert "Keep people and pets off the treated plants until Monday, July 6, 2026, 9:40 pm" in text
    assert text.index("9:40 pm") < text.index("Dear Reading Society")
    for promised in [
        "until the spray has dried",
        "leave the sign standing until",
        "Quiet Soap (potassium salts of fatty acids 49 %, EPA number 0-101)",
        "two-spotted spider mite",
        "The next visit is planned for Monday, July 13, 2026",
        "1-800-222-1222",
    ]:
        assert promised in text


def test_the_letter_is_in_the_clients_language_and_always_the_same(made, reading_society):
    reading_society.language = "es"
    reading_society.save()
    visit = Visit.objects.with_all_that_is_shown().get(pk=made.pk)

    assert "lunes 6 de julio de 2026" in text_of(summary_pdf(visit))
    assert summary_pdf(visit) == summary_pdf(visit)


def test_an_unknown_time_is_never_told_as_safe(made, soap, visits, rose_bed, stated):
    soap.reentry_hours, soap.reentry_until_dry = None, False
    soap.save()
    record = record_application(**stated)
    made.records.set([record])

    text = text_of(summary_pdf(made))

    assert "We do not know yet when it is safe." in text


def test_until_dry_is_told_in_words(made, soap, stated):
    soap.reentry_hours = None
    soap.save()
    made.records.set([record_application(**stated)])

    text = text_of(summary_pdf(made))

    assert "off the treated plants until the spray has dried" in text
    assert "We do not know" not in text


def test_a_full_stop_keeps_to_one_page(route, library, soap, rose_bed):
    library.jurisdiction = "US-NJ"
    library.bees = library.pets = library.children = library.kitchen_garden = True
    library.garden_distance_ft, library.gate_code = 40, "4711"
    library.access_note = "Ring at the side door; the hose bib is behind the garage."
    library.save()
    Neighbour.objects.create(property=library, name="Wren Next-Door", phone="555-0199")
    rose_bed.length_ft, rose_bed.attracts_bees = Decimal(100), True
    rose_bed.bloom_end = "07-31"
    rose_bed.save()
    soap.signal_word, soap.restricted_use = "DANGER", True
    soap.bloom_rule = "not while bees forage"
    soap.respirator_vapour = soap.respirator_particulate = True
    soap.protective_equipment = [
        "coveralls-over-long-sleeves",
        "chemical-resistant-footwear",
        "chemical-resistant-gloves",
        "goggles",
    ]
    soap.save()

    pages = pages_of(visit_sheets_pdf([route], language="en", now=NOW))

    assert "last tank" in pages[1]
    assert len(pages) == 2

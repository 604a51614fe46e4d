"""What a place asks of a record is filled by the book, measured, or typed by who was there."""

import pytest

from services.api.reports import ApplicationSerializer
from services.asked_of_crews import TYPED_FOR, asked_at, typed_at
from services.forms.spot import AIR, MEASURED_FOR
from treatments.recording.fields import COLUMNS
from treatments.rules.records import FIELDS

# What a phone or a page tells of each work: hours, amounts, people, the lot, what went wrong.
TOLD_ALWAYS = {
    "application_date",
    "start_time",
    "end_time",
    "time_of_day",
    "total_product_amount",
    "total_mix_amount",
    "applicator_name",
    "supervisor_name",
    "incident_notes",
}
# What the book copies from client, property, course, label, certificates and business.
COPIED = {
    "reentry_datetime",
    "customer_name",
    "customer_address",
    "customer_phone",
    "site_address",
    "site_description",
    "area_or_units_treated",
    "target_pest",
    "product_name",
    "epa_reg_no",
    "active_ingredient",
    "formulation_or_strength",
    "rate",
    "dilution",
    "applicator_license_no",
    "supervisor_license_no",
    "noncertified_applicator_name",
    "business_name",
    "business_address",
    "recommender_name",
    "training_proof",
}


def test_every_field_of_every_rule_set_is_copied_told_measured_or_typed():
    assert TOLD_ALWAYS | COPIED | set(MEASURED_FOR) | set(TYPED_FOR) == set(FIELDS)
    assert set(MEASURED_FOR.values()) <= set(AIR)


def test_what_is_typed_is_a_column_that_answers_the_field_and_the_api_takes():
    for field, (name, _label) in TYPED_FOR.items():
        assert COLUMNS[field] == (name,)
        assert name in ApplicationSerializer().fields


# [OR-634-146] who sold it; [TX-4TAC7] the permit; [MA-333CMR] the insurer; [GA-40-21-5] what was
# disposed of; [NJAC-7-30-7-3], [PA-128-35] nothing that only the crew knows
@pytest.mark.parametrize(
    ("jurisdiction", "typed"),
    [
        ("US-OR", {"supplier_name", "method"}),
        ("US-TX", {"permit_number", "method"}),
        ("US-MA", {"insurance", "method"}),
        ("US-GA", {"disposal", "method"}),
        ("US-MD", {"weather", "method"}),
        ("US-NJ", set()),
        ("US-PA", set()),
    ],
)
def test_a_crew_types_what_only_its_place_asks_for(dispatched, library, jurisdiction, typed):
    library.jurisdiction = jurisdiction
    dispatched.course.property = library

    found = typed_at(asked_at(dispatched, dispatched.planned))

    assert {each.name for each in found} == typed


def test_a_nursery_in_idaho_says_who_was_told(dispatched, library):
    library.jurisdiction, library.production_site = "US-ID", True
    dispatched.course.property = library

    found = typed_at(asked_at(dispatched, dispatched.planned))

    assert [each.name for each in found] == ["worker_protection_exchange"]


def test_what_is_typed_is_never_longer_than_the_record_takes(dispatched, library):
    library.jurisdiction = "US-TX"
    dispatched.course.property = library

    longest = {
        each.name: each.longest for each in typed_at(asked_at(dispatched, dispatched.planned))
    }

    assert longest == {"permit_number": 60, "method": 300}

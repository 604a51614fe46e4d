"""The fields of a record: the union of what the rules ask for, with their names."""

from treatments.rules.findings import gettext_noop

FIELDS: dict[str, str] = {
    "application_date": gettext_noop("date of application"),
    "start_time": gettext_noop("time begun"),
    "end_time": gettext_noop("time finished"),
    "time_of_day": gettext_noop("time of application"),
    "reentry_datetime": gettext_noop("date and time of re-entry"),
    "customer_name": gettext_noop("customer's name"),
    "customer_address": gettext_noop("customer's address"),
    "customer_phone": gettext_noop("customer's telephone"),
    "site_address": gettext_noop("address of the place treated"),
    "site_description": gettext_noop("planting treated"),
    "area_or_units_treated": gettext_noop("area or number of plants treated"),
    "target_pest": gettext_noop("pest or purpose"),
    "product_name": gettext_noop("product name"),
    "epa_reg_no": gettext_noop("EPA registration number"),
    "active_ingredient": gettext_noop("active ingredient"),
    "formulation_or_strength": gettext_noop("formulation or strength"),
    "rate": gettext_noop("rate"),
    "dilution": gettext_noop("dilution"),
    "total_product_amount": gettext_noop("total product"),
    "total_mix_amount": gettext_noop("total spray"),
    "method_or_equipment": gettext_noop("method or equipment"),
    "applicator_name": gettext_noop("applicator's name"),
    "applicator_license_no": gettext_noop("applicator's license number"),
    "supervisor_name": gettext_noop("supervisor's name"),
    "supervisor_license_no": gettext_noop("supervisor's license number"),
    "noncertified_applicator_name": gettext_noop("uncertified applicator's name"),
    "business_name": gettext_noop("business name"),
    "business_address": gettext_noop("business address"),
    "supplier_name": gettext_noop("supplier"),
    "recommender_name": gettext_noop("who recommended it"),
    "wind_speed": gettext_noop("wind speed"),
    "wind_direction": gettext_noop("wind direction"),
    "air_temperature": gettext_noop("air temperature"),
    "weather_conditions": gettext_noop("weather"),
    "incident_notes": gettext_noop("incident"),
    "disposal_notes": gettext_noop("disposal"),
    "insurance": gettext_noop("liability insurer"),
    "worker_protection_exchange": gettext_noop("who was told at the farm or nursery"),
    "permit_no": gettext_noop("permit number"),
    "training_proof": gettext_noop("proof of training"),
}

# What every record holds whatever the place asks for: common practice.
ALWAYS_KEPT = [
    "application_date",
    "end_time",
    "site_address",
    "site_description",
    "target_pest",
    "product_name",
    "epa_reg_no",
    "rate",
    "total_product_amount",
    "applicator_name",
    "applicator_license_no",
]

# Either satisfies a rule that asks for one time of day only.
SATISFIED_BY = {"time_of_day": ("time_of_day", "start_time", "end_time")}


def field_name(field: str) -> str:
    """Return the English name of a field, to be translated where it is shown.

    >>> field_name("epa_reg_no")
    'EPA registration number'
    """
    return FIELDS[field]

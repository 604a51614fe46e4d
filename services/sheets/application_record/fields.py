"""Every field that a record rule asks for, in the words of the rules, with who asks for it."""

from collections.abc import Iterable
from dataclasses import dataclass

from treatments.rules.findings import gettext_noop

WHEN_AND_WHERE, WHO, WHAT, CONDITIONS, PROOF = (
    "when and where",
    "who",
    "what",
    "conditions",
    "proof",
)

# The rules behind the codes.  That of WA is cited from memory, the others were read.
CITATIONS = {
    "US": gettext_noop("40 CFR 171.303(b)(7), restricted use pesticides"),
    "NY": "ECL 33-1205; 6 NYCRR 325.25",
    "PA": "7 Pa. Code 128.35",
    "NJ": "N.J.A.C. 7:30-7.3, 7:30-8.8",
    "CT": "Conn. Gen. Stat. 22a-66g",
    "MD": "Md. Code Agric. 5-208",
    "MN": "Minn. Stat. 18B.37",
    "WA": "RCW 17.21.100",
    "OR": "ORS 634.146",
    "ID": "IDAPA 02.03.03",
    "TX": "4 TAC 7.33",
    "MA": "333 CMR 10.14",
    "CA": "3 CCR 6624",
    "GA": "Ga. Comp. R. & Regs. 40-21-5",
    "FL": "F.A.C. 5E-14.142",
}
EVERY_RULE = gettext_noop("every rule")
ALL_BUT_GA_FL = gettext_noop("every rule but GA, FL")


@dataclass(frozen=True, slots=True)
class Field:
    """A field of the record; a star after a code means that it is asked under a condition."""

    key: str
    group: str
    label: str
    asked_by: str = ""


FIELDS = (
    Field("application_date", WHEN_AND_WHERE, gettext_noop("Date of application"), EVERY_RULE),
    Field("start_time", WHEN_AND_WHERE, gettext_noop("Time the application began"), "WA OR TX"),
    Field(
        "end_time",
        WHEN_AND_WHERE,
        gettext_noop("Time the application was completed"),
        "MN WA OR PA* NJ*",
    ),
    Field("time_of_day", WHEN_AND_WHERE, gettext_noop("Time of application"), "US CA MD ID GA"),
    Field(
        "reentry_datetime", WHEN_AND_WHERE, gettext_noop("Date and time re-entry is allowed"), "NJ*"
    ),
    Field(
        "site_address",
        WHEN_AND_WHERE,
        gettext_noop("Location of the application, with ZIP or county"),
        "US NY CA NJ CT MD MN WA OR ID TX MA GA PA* FL*",
    ),
    Field(
        "site_description",
        WHEN_AND_WHERE,
        gettext_noop("Crop, commodity, stored product or site treated"),
        "US CA CT MD WA OR ID TX GA FL*",
    ),
    Field(
        "area_or_units_treated",
        WHEN_AND_WHERE,
        gettext_noop("Size of area or number of plants treated"),
        "US CA MD MN WA OR ID TX GA PA* NJ* CT*",
    ),
    Field("customer_name", WHO, gettext_noop("Name of the customer"), "US PA CA MN WA OR ID TX GA"),
    Field("customer_address", WHO, gettext_noop("Address of the customer"), "US PA MN WA OR ID"),
    Field("customer_phone", WHO, gettext_noop("Telephone of the customer"), "OR"),
    Field(
        "applicator_name",
        WHO,
        gettext_noop("Name of the person who applied"),
        "US PA NJ CT MD MN WA OR ID TX MA",
    ),
    Field(
        "applicator_license_no",
        WHO,
        gettext_noop("Certification or license number"),
        "US PA NJ CT MN WA ID TX MA",
    ),
    Field("supervisor_name", WHO, gettext_noop("Supervising certified applicator"), "CT PA* ID*"),
    Field("supervisor_license_no", WHO, gettext_noop("Supervisor's number"), "CT ID*"),
    Field(
        "noncertified_applicator_name",
        WHO,
        gettext_noop("Uncertified person who applied under supervision"),
        "US* PA*",
    ),
    Field("business_name", WHO, gettext_noop("Name of the business"), "MN"),
    Field("business_address", WHO, gettext_noop("Address of the business"), "MN"),
    Field("supplier_name", WHO, gettext_noop("Supplier of the pesticide"), "OR"),
    Field("recommender_name", WHO, gettext_noop("Person who recommended the treatment"), "ID*"),
    Field("target_pest", WHAT, gettext_noop("Target pest or purpose"), "NY CT MD TX MA GA"),
    Field("product_name", WHAT, gettext_noop("Brand or product name"), EVERY_RULE),
    Field(
        "epa_reg_no",
        WHAT,
        gettext_noop("EPA registration number"),
        ALL_BUT_GA_FL,
    ),
    Field("active_ingredient", WHAT, gettext_noop("Active ingredient"), "NJ MD"),
    Field("formulation_or_strength", WHAT, gettext_noop("Formulation or strength"), "OR"),
    Field(
        "rate", WHAT, gettext_noop("Dosage or rate of application"), "NY PA MD MN WA OR TX GA ID*"
    ),
    Field("dilution", WHAT, gettext_noop("Dilution: amounts of product and water"), "NJ WA OR"),
    Field(
        "total_product_amount",
        WHAT,
        gettext_noop("Total amount of product applied"),
        "US NY PA CA NJ CT MD ID MA FL*",
    ),
    Field("total_mix_amount", WHAT, gettext_noop("Total amount of mix applied"), "NJ TX"),
    Field(
        "method_or_equipment",
        WHAT,
        gettext_noop("Method or equipment of application"),
        "NY MD OR TX MA GA",
    ),
    Field("mode_of_action", WHAT, gettext_noop("Mode of action group")),
    Field("lot_number", WHAT, gettext_noop("Lot number")),
    Field("wind_speed", CONDITIONS, gettext_noop("Wind speed"), "MN WA ID MD* TX*"),
    Field("wind_direction", CONDITIONS, gettext_noop("Direction of the wind"), "MN WA ID MD* TX*"),
    Field("air_temperature", CONDITIONS, gettext_noop("Air temperature"), "MN TX"),
    Field("weather_conditions", CONDITIONS, gettext_noop("Other weather conditions"), "MD*"),
    Field(
        "incident_notes", CONDITIONS, gettext_noop("Unexpected event, spill or injury"), "MA* GA*"
    ),
    Field("disposal_notes", CONDITIONS, gettext_noop("Disposal of pesticide"), "GA*"),
    Field("ppe_worn", CONDITIONS, gettext_noop("Protective equipment worn")),
    Field("insurance", PROOF, gettext_noop("Liability insurer"), "MA"),
    Field("permit_no", PROOF, gettext_noop("Spray permit number"), "TX*"),
    Field("training_proof", PROOF, gettext_noop("Proof of training under supervision"), "TX*"),
    Field(
        "worker_protection_exchange",
        PROOF,
        gettext_noop("Worker protection information exchanged"),
        "ID*",
    ),
    Field("posting", PROOF, gettext_noop("Signs posted: which and when")),
    Field("notices", PROOF, gettext_noop("Notices given: to whom, when, how"), "PA"),
    Field("label_version", PROOF, gettext_noop("Version of the label followed")),
    Field("photos", PROOF, gettext_noop("Photographs, by their digest")),
    Field("signature", PROOF, gettext_noop("Signed by")),
)

KEYS = frozenset(field.key for field in FIELDS)


class UnknownField(ValueError):
    """A value was given for a field that no record has."""


def check_keys(keys: Iterable[str]) -> None:
    """Refuse keys that no field has.

    >>> check_keys(["rate"])
    >>> check_keys(["colour"])
    Traceback (most recent call last):
    services.sheets.application_record.fields.UnknownField: No field of a record is called colour.
    """
    unknown = sorted(set(keys) - KEYS)
    if unknown:
        raise UnknownField(f"No field of a record is called {', '.join(unknown)}.")

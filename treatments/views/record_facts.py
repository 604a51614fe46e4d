"""What a record says, in the groups of a form filled in, and how its clock stands."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.utils.formats import date_format
from django.utils.text import capfirst
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from treatments.models import ApplicationRecord, CopyGiven
from treatments.recording import due_of, fields_of, what_is_missing
from treatments.recording.clocks import done_there, rules_of
from treatments.recording.fields import COLUMNS, circumstances_of
from treatments.rulebook import Confirmed, confirmed_facts
from treatments.rules.findings import Finding
from treatments.rules.records import (
    FIELDS,
    CopyDuty,
    NeededField,
    check_record,
    copies_due,
    fields_needed,
)
from treatments.saying import say_flag
from treatments.templatetags.findings import mark_said
from treatments.views.facts import Fact

# Fields by the words of the rules; what no rule names goes by the record's own column.
GROUPS = {
    gettext_lazy("When and where"): """
        application_date start_time end_time reentry_datetime site_address county
        site_description area_or_units_treated plants
    """,
    gettext_lazy("Who"): """
        customer_name customer_address customer_phone applicator_name applicator_license_no
        supervisor_name supervisor_license_no noncertified_applicator_name training_proof
        business_name business_address business_licence_number supplier_name recommender_name
    """,
    gettext_lazy("What"): """
        target_pest product_name epa_reg_no active_ingredient mode_of_action_groups
        formulation_or_strength signal_word restricted_use lot_number rate dilution
        total_product_amount total_mix_amount adjuvant method_or_equipment protective_equipment
    """,
    gettext_lazy("Conditions"): """
        wind_speed wind_direction air_temperature humidity_percent weather_conditions
        incident_notes disposal_notes
    """,
    gettext_lazy("Proof"): """
        posting posted_at removal_at notices label_version first_aid permit_no insurance
        worker_protection_exchange signed recorded_by captured_at received_at from_paper note
    """,
}
WHOLE = {
    "first_aid",
    "incident_notes",
    "note",
    "notices",
    "protective_equipment",
    "site_description",
}


@dataclass(frozen=True, slots=True)
class Group:
    """Some facts of a record under one heading."""

    heading: object
    facts: list[Fact]


def groups_of_facts(record: ApplicationRecord) -> list[Group]:
    """Return the record as a form filled in: every field labelled, nothing left blank."""
    told = fields_of(record)
    needed = {each.field: each for each in needed_by(record)}
    return [
        Group(heading, [_fact(record, name, told, needed.get(name)) for name in names.split()])
        for heading, names in GROUPS.items()
    ]


def needed_by(record: ApplicationRecord) -> list[NeededField]:
    """Return the fields that the rules of its place and day ask of a record."""
    day = done_there(record).date()
    rules = rules_of(record, confirmed_facts())
    return fields_needed(record.jurisdiction, day, circumstances_of(record), rules)


def _fact(
    record: ApplicationRecord, name: str, told: dict[str, str], needed: NeededField | None
) -> Fact:
    value = _in_field(record, name, told) if name in FIELDS else _in_column(record, name)
    is_blank = value in ("", None)
    if is_blank and needed is None:
        value = _("not signed") if name == "signed" else _("not applicable")
    return Fact(
        label=capfirst(_label(name)),
        value=value,
        source=_who_asks(needed),
        is_whole=name in WHOLE,
    )


def _label(name: str) -> str:
    if name in FIELDS:
        return _(FIELDS[name])
    if name == "signed":
        return _("signed by")
    column: Any = ApplicationRecord._meta.get_field(name)
    return str(column.verbose_name)


def _in_field(record: ApplicationRecord, name: str, told: dict[str, str]) -> str:
    if name == "application_date":
        return date_format(done_there(record), "SHORT_DATE_FORMAT")
    first = getattr(record, COLUMNS[name][0])
    return moment(record, first) if isinstance(first, datetime) else told[name]


def _in_column(record: ApplicationRecord, name: str) -> str:
    if name == "signed":
        return signed_said(record)
    if name == "posting" and record.posted_at and not record.posting:
        return _("a sign was put up")
    return shown(record, getattr(record, name))


def signed_said(record: ApplicationRecord) -> str:
    """Return who signed a record, with the number of the certificate, and when; "" for nobody."""
    signed = getattr(record, "signed", None)
    if signed is None:
        return ""
    facts = {
        "name": signed.signer_name,
        "number": signed.certificate_number,
        "moment": moment(record, signed.signed_at),
    }
    return _("%(name)s, certificate %(number)s, %(moment)s") % facts


def shown(record: ApplicationRecord, value: object) -> str:
    """Return the value of any column as it is read on the page."""
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, datetime):
        return moment(record, value)
    if isinstance(value, User):
        return value.get_full_name() or value.get_username()
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    return "" if value is None else str(value)


def moment(record: ApplicationRecord, at: datetime) -> str:
    """Return a moment by the clock of the record's place, with the name of that clock."""
    there = at.astimezone(done_there(record).tzinfo)
    return f"{date_format(there, 'SHORT_DATETIME_FORMAT')} {there:%Z}"


def _who_asks(needed: NeededField | None) -> str:
    if needed is None:
        return ""
    if not needed.asked_by:
        return _("common practice")
    asked = _("asked by %(rules)s") % {"rules": ", ".join(needed.asked_by)}
    sure = mark_said(needed.mark)
    return f"{asked}, {sure}" if sure else asked


def missing_findings(record: ApplicationRecord) -> list[Finding]:
    """Return a finding for each field that the rules ask for and the record lacks."""
    return check_record(
        fields_of(record),
        record.jurisdiction,
        done_there(record).date(),
        circumstances_of(record),
        rules_of(record, confirmed_facts()),
    )


def flags_said(record: ApplicationRecord) -> Iterator[str]:
    """Yield what was odd about a record when it was kept."""
    for flag in record.flags:
        yield say_flag(flag)


def copies_of(record: ApplicationRecord, confirmed: Confirmed) -> list[CopyDuty]:
    """Return the copies of a record that its client is to be given."""
    circumstances = replace(circumstances_of(record), agricultural_commodity=record.production_site)
    rules = rules_of(record, confirmed)
    return copies_due(done_there(record).date(), record.jurisdiction, circumstances, rules)


@dataclass(frozen=True, slots=True)
class CopyStanding:
    """How it stands with a copy that the client is to be given, or was given."""

    duties: list[CopyDuty]
    given: CopyGiven | None
    today: date

    def due_on(self) -> date | None:
        """Return by when it is to be given by the strictest rule that names a day."""
        return min((duty.due_on for duty in self.duties if duty.due_on), default=None)

    def is_open(self) -> bool:
        """Say whether it is still to be given."""
        return bool(self.duties) and self.given is None

    def is_late(self) -> bool:
        """Say whether it was given late, or is to be given since a day that has passed."""
        due, on = self.due_on(), self.given.given_on if self.given else self.today
        return due is not None and on > due


def copy_standing_of(
    record: ApplicationRecord, confirmed: Confirmed, now: datetime
) -> CopyStanding:
    """Return how it stands with the client's copy of a record, by the clock of its place."""
    today = now.astimezone(done_there(record).tzinfo).date()
    return CopyStanding(copies_of(record, confirmed), getattr(record, "copy_given", None), today)


@dataclass(frozen=True, slots=True)
class Standing:
    """How the clock of a record stands, in a word, and until when."""

    word: str
    due: str
    is_late: bool = False

    def until(self) -> str:
        """Return by when it is to be written, in words."""
        return _("by %(due)s") % {"due": self.due}


def standing_of(record: ApplicationRecord, now: datetime) -> Standing:
    """Return whether a record was written in time, late, or is due to be completed."""
    due_at = due_of(record).due_at
    due = moment(record, due_at)
    if record.amends_id is None and record.received_at > due_at:
        return Standing(_("late"), due, is_late=True)
    if not what_is_missing(record):
        return Standing(_("written in time"), due)
    if now <= due_at:
        return Standing(_("due, not complete"), due)
    return Standing(_("late, not complete"), due, is_late=True)

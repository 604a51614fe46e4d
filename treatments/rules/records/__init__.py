"""What the rules of a place ask of a record, a sign and a notice, and by when.

The facts stand in tables/rulesets.json, each with its citation and whether it was read.  What is
not known there is null and is never taken for "no duty"; a place without rules is said to be
without verified rules, and the strictest rule that is known is followed there.
"""

from treatments.rules.records.clocks import (
    Clock,
    Retention,
    record_due,
    retention_of,
)
from treatments.rules.records.copies import CopyDuty, copies_due, knows_of_copies
from treatments.rules.records.fields import FIELDS, field_name
from treatments.rules.records.needs import (
    Circumstances,
    NeededField,
    check_record,
    fields_needed,
    missing_fields,
)
from treatments.rules.records.notices import (
    NewDateRule,
    NoticeRule,
    NoticeWindow,
    check_notice,
    new_date_rule,
    notice_window,
    notices_for,
    notices_of,
)
from treatments.rules.records.posting import (
    Posting,
    known_with_own,
    posting_for,
    posting_of,
    sign_stays_until,
)
from treatments.rules.records.returns import ReturnRule, return_rule
from treatments.rules.records.rulesets import (
    CONFIRMED,
    OWN,
    READ,
    SURE,
    RuleSet,
    are_verified,
    fingerprint_of,
    is_verified,
    ruleset_from,
    ruleset_of,
    rulesets_for,
    rulesets_with,
    table_rulesets,
    with_confirmed,
)
from treatments.rules.records.signs import (
    UNSURE,
    OwnSource,
    SignCircle,
    SignDesign,
    SignDrawing,
    SignWords,
    design_of,
    less_than_asked,
    own_design,
    spacings_of,
)
from treatments.rules.records.telling import RuleFact, facts_told, unsure_facts

__all__ = [
    "CONFIRMED",
    "FIELDS",
    "OWN",
    "READ",
    "SURE",
    "UNSURE",
    "Circumstances",
    "Clock",
    "CopyDuty",
    "NeededField",
    "NewDateRule",
    "NoticeRule",
    "NoticeWindow",
    "OwnSource",
    "Posting",
    "Retention",
    "ReturnRule",
    "RuleFact",
    "RuleSet",
    "SignCircle",
    "SignDesign",
    "SignDrawing",
    "SignWords",
    "are_verified",
    "check_notice",
    "check_record",
    "copies_due",
    "design_of",
    "facts_told",
    "field_name",
    "fields_needed",
    "fingerprint_of",
    "is_verified",
    "known_with_own",
    "knows_of_copies",
    "less_than_asked",
    "missing_fields",
    "new_date_rule",
    "notice_window",
    "notices_for",
    "notices_of",
    "own_design",
    "posting_for",
    "posting_of",
    "record_due",
    "retention_of",
    "return_rule",
    "ruleset_from",
    "ruleset_of",
    "rulesets_for",
    "rulesets_with",
    "sign_stays_until",
    "spacings_of",
    "table_rulesets",
    "unsure_facts",
    "with_confirmed",
]

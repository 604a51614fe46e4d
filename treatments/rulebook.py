"""Under which rules the business works at a place on a day, and what it compared with the code."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.db import transaction
from django.db.models import Max
from django.utils.translation import gettext_lazy as _

from treatments.chosen import chosen, forget
from treatments.models import FactConfirmed, OwnRuleSet, RuleChoice
from treatments.rules.records import (
    FIELDS,
    OWN,
    NoticeRule,
    Posting,
    RuleSet,
    facts_told,
    known_with_own,
    notices_for,
    notices_of,
    posting_for,
    posting_of,
    ruleset_from,
    ruleset_of,
    rulesets_for,
    rulesets_with,
    with_confirmed,
)

OWN_KEY = "own:"
SEPARATOR = " "
Confirmed = frozenset[tuple[str, str, str]]
NOTHING: Confirmed = frozenset()


@dataclass(frozen=True, slots=True)
class Binding:
    """What decides which rule sets bind an application, beside its place."""

    day: date
    restricted_use: bool = False
    production_site: bool = False

    def told(self) -> dict[str, Any]:
        """Return it as the rules are told of it."""
        return {"restricted_use": self.restricted_use, "production_site": self.production_site}


def rules_at(jurisdiction: str, binding: Binding) -> list[RuleSet]:
    """Return the rule sets that bind an application, by what the business chose."""
    return rulesets_with(state_rules_at(jurisdiction, binding.day), binding.day, **binding.told())


def state_rules_at(jurisdiction: str, day: date) -> RuleSet | None:
    """Return the rule set that the business works under at a place on a day."""
    return own_rules_at(jurisdiction, day) or ruleset_of(jurisdiction)


def own_rules_at(jurisdiction: str, day: date) -> RuleSet | None:
    """Return the business's own rule set where it works under one at a place on a day."""
    own = chosen().own_at(jurisdiction, day)
    return as_ruleset(own) if own else None


def notices_at(jurisdiction: str, day: date) -> list[NoticeRule]:
    """Return the duties to tell somebody: the book's, and beside them the business's own."""
    own = own_rules_at(jurisdiction, day)
    return [*notices_for(jurisdiction), *(notices_of(own) if own else [])]


def posting_at(jurisdiction: str, day: date, *, production_site: bool = False) -> Posting | None:
    """Return the sign that a place asks for: the book's, which an own rule set may add to."""
    known = posting_for(jurisdiction, production_site=production_site)
    own = own_rules_at(jurisdiction, day)
    return known_with_own(known, posting_of(own)) if own else known


def keys_of(rulesets: Iterable[RuleSet]) -> str:
    """Return rule sets with their versions as a record keeps them."""
    return SEPARATOR.join(each.key for each in rulesets)


def rules_kept(keys: str, jurisdiction: str, binding: Binding) -> list[RuleSet]:
    """Return the rule sets by which a record was checked.

    keys: as the record keeps them; a record without goes by the table
    """
    own = next((key for key in keys.split(SEPARATOR) if key.startswith(OWN_KEY)), None)
    if own is None:
        return rulesets_for(jurisdiction, binding.day, **binding.told())
    state = own_of(UUID(own.removeprefix(OWN_KEY)))
    return rulesets_with(state, binding.day, **binding.told())


@cache
def own_of(key: UUID) -> RuleSet:
    """Return a version of an own rule set, which nobody changes once it is entered."""
    return as_ruleset(OwnRuleSet.objects.get(key=key))


def as_ruleset(own: OwnRuleSet) -> RuleSet:
    """Return an own rule set with what its row does not hold: not known, never "no duty"."""
    return ruleset_from(
        {
            "key": f"{OWN_KEY}{own.key}",
            "code": own.jurisdiction.removeprefix("US-"),
            "name": own.name,
            "citation": own.citation,
            "source": own.citation,
            "verified": OWN,
            "in_force_until": None,
            "restricted_use_only": False,
            "required_fields": [field for field in FIELDS if field in own.required_fields],
            "conditional_fields": {},
            "record_deadline_hours": own.record_deadline_hours,
            "record_deadline_days": own.record_deadline_days,
            "retention_years": own.retention_years,
            "customer_copy_rule": own.customer_copy_rule or None,
            "customer_copy_days": own.customer_copy_days,
            "customer_copy_when": [] if own.customer_copy_rule else None,
            "reporting": None,
            "posting": _sign_row(own) if own.sign_rule or own.sign_hours else None,
            "posting_source": own.citation,
            "notice": [_notice_row(own)] if own.notice_who else [],
            "memory_fields": [],
        }
    )


def _sign_row(own: OwnRuleSet) -> dict[str, Any]:
    """Return what an own rule set says of the sign, with the keys of the table."""
    return {
        "required_when": own.sign_rule or None,
        "post_before_or_at": own.sign_when or None,
        "keep_up_hours": own.sign_hours,
        "remover": own.sign_remover or None,
    }


def _notice_row(own: OwnRuleSet) -> dict[str, Any]:
    """Return what an own rule set says of notices, with the keys of the table."""
    on_registry = own.notice_ground == OwnRuleSet.Told.REGISTRY
    return {
        "who": own.notice_who,
        "on_request": own.notice_ground == OwnRuleSet.Told.ASKED,
        "registry": own.name if on_registry else None,
        "asked_days_before": own.notice_asked_days,
        "within_ft": own.notice_within_ft,
        "hours_before": own.notice_hours,
        "hours_before_max": own.notice_hours_most,
        "days_before": own.notice_days,
        "days_before_max": own.notice_days_most,
        "business_days_before": own.notice_business_days,
        "how": own.notice_how or None,
        "source": own.citation,
        "mark": OWN,
    }


def confirmed_facts() -> Confirmed:
    """Return everything that was compared with the code: rule set, fact and its fingerprint."""
    rows = FactConfirmed.objects.values_list("ruleset", "fact", "fingerprint")
    return frozenset(rows)


def as_confirmed(rulesets: Iterable[RuleSet], confirmed: Confirmed | None = None) -> list[RuleSet]:
    """Return rule sets with what was compared with the code marked so."""
    known = confirmed_facts() if confirmed is None else confirmed
    return with_confirmed(list(rulesets), known)


def code_of(ruleset: RuleSet) -> str:
    """Return the name under which a rule set's facts are confirmed: of an own one, its version."""
    return ruleset.key if ruleset.is_own else ruleset.code


@transaction.atomic
def enter_ruleset(*, jurisdiction: str, by: Any, at: datetime, **told: Any) -> OwnRuleSet:
    """Keep another version of the business's own rule set of a jurisdiction.

    Raise ValidationError where it would hold from before the version that it follows.
    """
    earlier = OwnRuleSet.objects.filter(jurisdiction=jurisdiction)
    newest = earlier.aggregate(number=Max("number"), day=Max("valid_from"))
    if newest["day"] and told["valid_from"] < newest["day"]:
        raise ValidationError(
            {
                "valid_from": ValidationError(
                    _("The version before this one holds from %(day)s; this one follows it."),
                    params={"day": newest["day"].isoformat()},
                    code="before_former",
                )
            }
        )
    own = OwnRuleSet(
        jurisdiction=jurisdiction,
        number=(newest["number"] or 0) + 1,
        entered_by=by,
        entered_at=at,
        **told,
    )
    own.full_clean()
    own.save()
    forget()
    return own


@transaction.atomic
def choose_rules(*, jurisdiction: str, uses: str, holds_from: date, by: Any, at: datetime) -> bool:
    """Keep under which rule set the business works from a day on; say whether that is new.

    Raise ValidationError where there is no own rule set that holds by then.
    """
    own = OwnRuleSet.objects.in_force(jurisdiction, holds_from)
    if uses == RuleChoice.Uses.OWN and own is None:
        raise ValidationError(
            _("You have no rule set of your own that holds on that day. Enter it first."),
            code="no_own",
        )
    last = RuleChoice.objects.filter(jurisdiction=jurisdiction).order_by("-holds_from", "-pk")
    newest = last.first()
    if newest is not None and (newest.uses, newest.holds_from) == (uses, holds_from):
        return False
    choice = RuleChoice(
        jurisdiction=jurisdiction, uses=uses, holds_from=holds_from, chosen_by=by, chosen_at=at
    )
    choice.full_clean()
    choice.save()
    forget()
    return True


@transaction.atomic
def confirm_facts(
    ruleset: RuleSet,
    facts: Iterable[str],
    *,
    compared_on: date,
    compared_with: str,
    by: Any,
    at: datetime,
) -> int:
    """Keep that facts of a rule set were compared with the code; return how many are new."""
    wanted = set(facts)
    new = 0
    for fact in facts_told(ruleset):
        if fact.fact not in wanted or not fact.is_known():
            continue
        row = {"ruleset": code_of(ruleset), "fact": fact.fact, "fingerprint": fact.fingerprint}
        if FactConfirmed.objects.filter(**row).exists():
            continue
        said = FactConfirmed(
            **row,
            compared_on=compared_on,
            compared_with=compared_with,
            confirmed_by=by,
            confirmed_at=at,
        )
        said.full_clean()
        said.save()
        new += 1
    return new

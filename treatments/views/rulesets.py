"""Pages of the rules: what each place asks, how far that is sure, and what the business chose."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from django.contrib import messages
from django.db.models import Count
from django.http import Http404
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients.access import STAFF, Role, allow, has_role
from clients.models import Property
from clients.views import entry
from treatments.clocks import home_day, home_zone
from treatments.forms.rulesets import ChoiceForm, ConfirmForm, OwnRuleSetForm
from treatments.models import FactConfirmed, OwnRuleSet, RuleChoice
from treatments.rulebook import (
    as_confirmed,
    code_of,
    confirmed_facts,
    state_rules_at,
)
from treatments.rules.records import (
    FIELDS,
    RuleFact,
    RuleSet,
    facts_told,
    ruleset_of,
    table_rulesets,
    unsure_facts,
)

OWNER = frozenset({Role.OWNER})


@dataclass(frozen=True, slots=True)
class PlaceRow:
    """A jurisdiction in the list: its rule set, what of it is not sure, how many properties."""

    code: str
    name: str
    ruleset: RuleSet | None
    unsure: list[RuleFact]
    properties: int

    def is_former(self) -> bool:
        """Say whether the rule set holds for earlier work only."""
        return self.ruleset is not None and self.ruleset.in_force_until is not None


@dataclass(frozen=True, slots=True)
class FactRow:
    """A fact of a rule set with who compared it with the code, if anybody did."""

    fact: RuleFact
    confirmed: FactConfirmed | None


@require_safe
@allow(STAFF)
def rulesets(request):
    """List what each place asks of records, those where the business works first."""
    rows = [row_of(code, known, number) for code, known, number in rules_of_places()]
    context = {
        "here": [row for row in rows if row.properties],
        "elsewhere": [row for row in rows if not row.properties and not row.is_former()],
        "former": [row for row in rows if row.is_former()],
    }
    return render(request, "treatments/rulesets.html", context)


@require_safe
@allow(STAFF)
def ruleset(request, code):
    """Show a rule set fact by fact, each with its citation and how far it is sure."""
    return page(request, code)


@require_POST
@allow(OWNER)
def confirm_rules(request, code):
    """Keep which facts the owner compared with the code."""
    known, today = known_or_404(code), home_day()
    form = ConfirmForm(request.POST, unsure=unsure_facts(known), today=today)
    if not form.is_valid():
        return page(request, code, confirm=form)
    number = form.confirm(known, request.user, timezone.now())
    said = ngettext("%(n)d fact is confirmed.", "%(n)d facts are confirmed.", number)
    messages.success(request, said % {"n": number})
    return redirect("treatments:ruleset", code)


@require_POST
@allow(OWNER)
def choose(request, code):
    """Keep under which rule set the business works in a jurisdiction."""
    if is_federal(code):
        raise Http404
    form = ChoiceForm(request.POST)
    if form.is_valid() and form.choose(code, request.user, timezone.now()):
        messages.success(request, _("Records of work from that day on go by it."))
        return redirect("treatments:ruleset", code)
    return page(request, code, choice=form)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OWNER)
def enter_own(request, code):
    """Enter a rule set of the business's own, or its next version."""
    if is_federal(code) or code not in places():
        raise Http404
    newest = OwnRuleSet.objects.filter(jurisdiction=code).last()
    form = OwnRuleSetForm(request.POST or None, initial=begun_from(code, newest))
    if form.is_valid() and (own := form.enter(code, request.user, timezone.now())):
        messages.success(request, _("Version %(number)d is entered.") % {"number": own.number})
        return redirect("treatments:ruleset", code)
    return entry(request, form, "treatments/enter_ruleset.html", code=code, newest=newest)


def page(request, code, *, confirm=None, choice=None):
    """Show a rule set with its forms, as they are or with what is wrong (422)."""
    known, today = known_or_404(code, or_nothing=True), home_day()
    is_owner = has_role(request.user, OWNER)
    unsure = unsure_facts(known) if known else []
    if is_owner and unsure and confirm is None:
        confirm = ConfirmForm(unsure=unsure, today=today)
    if is_owner and not is_federal(code) and choice is None:
        uses = "own" if known and known.is_own else "book"
        choice = ChoiceForm(initial={"uses": uses, "holds_from": today})
    context = {
        "code": code,
        "ruleset": known,
        "facts": fact_rows(known) if known else [],
        "unsure": unsure,
        "confirm": confirm if unsure else None,
        "choice": choice,
        "is_owner": is_owner,
        "owns": list(OwnRuleSet.objects.filter(jurisdiction=code).select_related("entered_by")),
        "choices": RuleChoice.objects.filter(jurisdiction=code).select_related("chosen_by"),
        "asks_less": less_than_the_book(code, known),
    }
    is_wrong = any(form is not None and form.errors for form in (confirm, choice))
    status = 422 if is_wrong else 200
    with timezone.override(home_zone()):
        return render(request, "treatments/ruleset.html", context, status=status)


def places() -> dict[str, int]:
    """Return every jurisdiction of the book with its number of properties, by its code."""
    found = {name_in_address(each): 0 for each in table_rulesets()}
    owns = OwnRuleSet.objects.order_by("jurisdiction").values_list("jurisdiction", flat=True)
    found |= dict.fromkeys(owns.distinct(), 0)
    lived = Property.objects.order_by("jurisdiction").values_list("jurisdiction")
    return found | dict(lived.annotate(number=Count("pk")))


def name_in_address(ruleset: RuleSet) -> str:
    """Return how a rule set is named in an address: a state by its ISO 3166-2 code."""
    return ruleset.code if ruleset.is_federal else f"US-{ruleset.code}"


def is_federal(code: str) -> bool:
    """Say whether a code names one of the federal rule sets, which nobody chooses."""
    known = ruleset_of(code)
    return known is not None and known.is_federal


def rules_of_places() -> Iterator[tuple[str, RuleSet | None, int]]:
    """Yield each place with its rule set of today and its number of properties."""
    today, confirmed = home_day(), confirmed_facts()
    chosen = set(RuleChoice.objects.values_list("jurisdiction", flat=True))
    for code, number in places().items():
        found = state_rules_at(code, today) if code in chosen else ruleset_of(code)
        yield code, as_confirmed([found], confirmed)[0] if found else None, number


def row_of(code: str, known: RuleSet | None, number: int) -> PlaceRow:
    """Return a line of the list."""
    return PlaceRow(
        code=code,
        name=known.name if known else code,
        ruleset=known,
        unsure=unsure_facts(known) if known else [],
        properties=number,
    )


def rules_now(code: str, today: date) -> RuleSet | None:
    """Return the rule set that the business works under today, or None where it has none."""
    found = state_rules_at(code, today)
    return as_confirmed([found])[0] if found else None


def known_or_404(code: str, *, or_nothing: bool = False):
    """Return the rule set of a code; a place of the business may have none."""
    known = rules_now(code, home_day())
    if known is None and not (or_nothing and code in places()):
        raise Http404
    return known


def fact_rows(known: RuleSet) -> list[FactRow]:
    """Return the facts of a rule set, each with who compared it as it is now."""
    said = FactConfirmed.objects.filter(ruleset=code_of(known)).select_related("confirmed_by")
    by_print = {(each.fact, each.fingerprint): each for each in said}
    return [
        FactRow(fact, by_print.get((fact.fact, fact.fingerprint))) for fact in facts_told(known)
    ]


def less_than_the_book(code: str, known: RuleSet | None) -> list[str]:
    """Return the fields that the book's rule set asks for and the business's own does not."""
    table = ruleset_of(code)
    if known is None or not known.is_own or table is None:
        return []
    asked = set(known.row["required_fields"])
    return [FIELDS[name] for name in names_of(table) if name not in asked]


def names_of(table: RuleSet) -> Iterable[str]:
    """Return the fields that a rule set asks for, under a condition as well."""
    return [*table.row["required_fields"], *table.row["conditional_fields"]]


def begun_from(code: str, newest: OwnRuleSet | None) -> dict[str, object]:
    """Return what the form begins with: the version before, else what the book knows."""
    names = OwnRuleSetForm.Meta.fields
    if newest is not None:
        begun = {name: getattr(newest, name) for name in names}
    else:
        table = ruleset_of(code)
        begun = {name: table.row.get(name) for name in names} if table else {}
    return begun | {"valid_from": home_day()}

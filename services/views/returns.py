"""Periodic returns that rules name: which are due, and each as a table to file from."""

from dataclasses import dataclass
from datetime import date, timedelta

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.translation import get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from clients.access import OFFICE, STAFF, allow, has_role
from clients.lying import state_named
from clients.stretches import values_of
from clients.views import entry
from services.dispatching import today_at_yard
from services.printing.returns import return_csv, return_pdf
from services.views.paper import pdf, wanted_language
from treatments.forms.handing import FiledForm
from treatments.models import ApplicationRecord, ReturnFiled
from treatments.returning import is_empty
from treatments.rules.records import ReturnRule, return_rule

PERIODS_SHOWN = 3  # the one under way and two before it; our own choice


@dataclass(frozen=True, slots=True)
class Period:
    """A period of a return, named by its first day."""

    first: date
    last: date
    due_on: date | None
    is_over: bool
    is_empty: bool
    filed: ReturnFiled | None
    today: date

    def is_late(self) -> bool:
        """Say whether it was filed late, or is not filed though its day has passed.

        Where no record falls into it, whether one is asked for is not known.
        """
        if self.is_empty and self.filed is None:
            return False
        on = self.filed.filed_on if self.filed else self.today
        return self.due_on is not None and on > self.due_on


@dataclass(frozen=True, slots=True)
class Return:
    """The return of a place with its last periods."""

    jurisdiction: str
    rule: ReturnRule
    name: str
    words: str
    periods: tuple[Period, ...]


@require_safe
@allow(STAFF)
def returns(request):
    """Show the returns of the places that have records, and for which places none is known."""
    kept = ApplicationRecord.objects.for_user(request.user)
    rules = {place: return_rule(place) for place in values_of(kept, "jurisdiction")}
    today = today_at_yard()
    context = {
        "returns": [
            return_shown(place, rule, today, kept) for place, rule in rules.items() if rule
        ],
        "may_file": has_role(request.user, OFFICE),
        "silent": [state_named(place) for place, rule in rules.items() if rule is None],
    }
    return render(request, "services/returns.html", context)


def return_shown(place, rule, today, kept):
    """Return a return with the period under way and those before it."""
    filed = {
        each.first_day: each
        for each in ReturnFiled.objects.filter(jurisdiction=place).select_related("filed_by")
    }
    periods, day = [], today
    for _number in range(PERIODS_SHOWN):
        first = rule.first_day(day)
        periods.append(
            Period(
                first=first,
                last=rule.last_day(day),
                due_on=rule.due_on(day),
                is_over=rule.last_day(day) < today,
                is_empty=is_empty(rule, day, kept),
                filed=filed.get(first),
                today=today,
            )
        )
        day = first - timedelta(days=1)
    return Return(place, rule, _(rule.name), _(rule.rule), tuple(periods))


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def note_filed(request, jurisdiction, day):
    """Note that the return of the period in which a day lies was filed, when and how."""
    rule = rule_for(jurisdiction)
    first = rule.first_day(day)
    form = FiledForm(request.POST or None, initial={"filed_on": today_at_yard()})
    if form.is_valid():
        is_new = form.file(rule, first, request.user, timezone.now())
        if is_new is not None:
            said = _("It is noted that it was filed.") if is_new else _("That was noted before.")
            messages.success(request, said)
            return redirect("services:returns")
    context = {"name": _(rule.name), "first": first, "last": rule.last_day(day)}
    return entry(request, form, "services/return_filed.html", **context)


@require_safe
@allow(STAFF)
def csv(request, jurisdiction, day):
    """Answer with the table of the period in which a day lies."""
    rule = rule_for(jurisdiction)
    kept = ApplicationRecord.objects.for_user(request.user)
    answer = HttpResponse("".join(return_csv(rule, day, kept)), content_type="text/csv")
    name = f"return-{jurisdiction}-{rule.first_day(day)}.csv"
    answer["Content-Disposition"] = content_disposition_header(True, name) or "attachment"
    answer["Cache-Control"] = "private, no-store"
    return answer


@require_safe
@allow(STAFF)
def paper(request, jurisdiction, day):
    """Print the return of the period in which a day lies."""
    rule = rule_for(jurisdiction)
    kept = ApplicationRecord.objects.for_user(request.user)
    language = wanted_language(request, get_language())
    printed = return_pdf(rule, day, kept, language=language, now=timezone.now())
    return pdf(printed, f"return-{jurisdiction}-{rule.first_day(day)}")


def rule_for(jurisdiction):
    """Return the rule of a place; without one nothing is there."""
    rule = return_rule(jurisdiction)
    if rule is None:
        raise Http404
    return rule

"""Pages of scouting: what was counted on a planting, and a new count."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from django.contrib import messages
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from clients.access import CREW, OFFICE, STAFF, allow, has_role
from clients.models import Planting
from clients.views import entry
from treatments.clocks import home_day
from treatments.forms.scouting import CountForm, PlanForm
from treatments.looking import PestLook, look_at_planting
from treatments.models import Pest, ScoutingCount
from treatments.rules.findings import Finding
from treatments.scouting import (
    CountSeries,
    against_threshold,
    change_since_first,
    counted_day,
)
from treatments.views.steps import RungShown, rungs_of
from treatments.watching import MOST_PLANTINGS, watch_resistance


@dataclass(frozen=True, slots=True)
class CountRow:
    """A count as the table shows it; shares in percent."""

    count: ScoutingCount
    per_leaf: float
    infested_percent: float
    change_percent: float | None
    is_over: bool | None


@dataclass(frozen=True, slots=True)
class Series:
    """The counts of one pest, the newest first."""

    pest: Pest
    rows: list[CountRow]
    look: PestLook
    rungs: list[RungShown]


@require_safe
@allow(STAFF)
def resistance(request):
    """Show how well each mode of action still works on each pest."""
    plantings = Planting.objects.for_user(request.user)
    rows, is_cut = watch_resistance(plantings, home_day())
    context = {"rows": rows, "is_cut": is_cut, "most": MOST_PLANTINGS}
    return render(request, "treatments/resistance.html", context)


@require_safe
@allow(CREW)
def counts(request, planting_id):
    """Show what was counted on a planting, pest by pest."""
    planting = planting_for(request.user, planting_id)
    with timezone.override(planting.property.zone()):
        series = series_of(planting, timezone.localdate())
        context = {
            "planting": planting,
            "series": series,
            "findings": list(said_of(series)),
            "may_see_property": has_role(request.user, STAFF),
            "is_office": has_role(request.user, OFFICE),
        }
        return render(request, "treatments/counts.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(CREW)
def new_count(request, planting_id):
    """Enter a count of a planting; times go by the clock of its place."""
    planting = planting_for(request.user, planting_id)
    with timezone.override(planting.property.zone()):
        plan = plan_asked(request.GET, planting)
        begins = {"pest": plan.pest_planned()}
        form = CountForm(request.POST or None, planting=planting, initial=begins)
        if form.is_valid() and form.enter(planting, request.user):
            messages.success(request, _("The count is in the book."))
            return redirect("treatments:counts", planting_id)
        return entry(request, form, "treatments/new_count.html", planting=planting, plan=plan)


def plan_asked(query, planting: Planting) -> PlanForm:
    """Return how many leaves to look at, for the pest and the precision that were asked for."""
    counts = list(planting.counts.select_related("pest").order_by("scouted_at"))
    return PlanForm(query or None, planting=planting, counts=counts)


def planting_for(user, planting_id):
    """Return a planting that a person may see, with its property."""
    plantings = Planting.objects.for_user(user).select_related("property__client")
    return get_object_or_404(plantings, pk=planting_id)


def series_of(planting: Planting, today: date) -> list[Series]:
    """Return what is known of a planting's pests, by their names."""
    looks = sorted(look_at_planting(planting, today), key=lambda look: look.pest.common_name)
    return [
        Series(look.pest, rows_of(list(look.counts)), look, list(rungs_of(look.steps, planting)))
        for look in looks
    ]


def said_of(series: Iterable[Series]) -> Iterator[Finding]:
    """Yield what the counts of each pest say: over or under the threshold, fallen or risen."""
    for each in series:
        days = tuple(counted_day(row.count) for row in reversed(each.rows))
        counted = CountSeries(each.pest, each.pest.threshold, days)
        told = against_threshold(counted), each.look.presence, change_since_first(counted)
        yield from (finding for finding in told if finding is not None)


def rows_of(counts: list[ScoutingCount]) -> list[CountRow]:
    """Return the rows of one pest, newest first, each against the first count."""
    first = counts[0].motiles_per_leaf()
    return [_row(count, first) for count in reversed(counts)]


def _row(count: ScoutingCount, first: float) -> CountRow:
    per_leaf = count.motiles_per_leaf()
    threshold = count.pest.threshold
    return CountRow(
        count=count,
        per_leaf=per_leaf,
        infested_percent=100 * count.infested_share(),
        change_percent=100 * (per_leaf - first) / first if first else None,
        is_over=None if threshold is None else per_leaf >= threshold,
    )

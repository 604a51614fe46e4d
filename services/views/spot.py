"""A visit on the spot: read what holds here, check the air, begin, keep what was done, or hold."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_POST, require_safe

from clients.access import CERTIFIED, CREW, Role, allow, has_role, role_of
from services import completing, holding
from services.forms.courses import HoldForm
from services.forms.spot import SprayForm, WorkForm
from services.models import Visit
from services.showing.spot import kept_of, offered_to, spot_of, visits_on_the_spot
from services.showing.verdict import verdict_on

private = cache_control(private=True, no_store=True)
MAY_ENTER_PAPER = frozenset({Role.OWNER, Role.OFFICE})


@require_safe
@allow(CREW)
@private
def visit(request, visit_id):
    """Show a visit on one page: what to read, what to apply, what to keep."""
    spot = spot_for(request, visit_id)
    return shown(request, spot, form_of(spot, request.user))


@require_POST
@allow(CREW)
@private
def check_visit(request, visit_id):
    """Say whether air, label and certificate let the crew spray now; nothing is kept."""
    spot = spot_for(request, visit_id)
    form = form_of(spot, request.user, request.POST, unfinished=True)
    found = verdict_on(spot.visit, **asked_of(form)) if form.is_valid() else []
    if request.htmx:
        return render(request, "services/_verdict.html", {"verdict": found})
    return shown(request, spot, form, verdict=found)


def asked_of(form):
    """Return what is asked before spraying; people and amounts count once they can be read."""
    now = timezone.now()
    asked = {"conditions": form.conditions(now), "at": now, **form.sky()}
    if not form.has_amounts():
        return asked
    people = {name: form.cleaned_data[name] for name in ("applicator", "supervisor")}
    return asked | people | {"reports": form.applications()}


@require_POST
@allow(CREW)
@private
def start_visit(request, visit_id):
    """Note that the crew has begun, and keep what was typed so far on the page."""
    spot = spot_for(request, visit_id)
    try:
        completing.start_visit(spot.visit, by=request.user, at=timezone.now())
    except ValidationError as refusal:
        messages.error(request, " ".join(refusal.messages))
    spot = spot_for(request, visit_id)
    typed = with_start(request.POST, spot)
    return shown(request, spot, form_of(spot, request.user, typed, unfinished=True))


def with_start(typed, spot):
    """Return what was typed, with the hour at which the visit was begun where none was typed."""
    begun = spot.visit.started_at
    if typed.get("started") or begun is None:
        return typed
    typed = typed.copy()
    typed["started"] = f"{begun.astimezone(spot.zone()):%H:%M}"
    return typed


@require_POST
@allow(CREW)
@private
def complete_visit(request, visit_id):
    """Keep what was done; what was typed stays on the page where something is missing."""
    spot = spot_for(request, visit_id, to_report=True)
    form = form_of(spot, request.user, request.POST)
    if not form.is_valid():
        return shown(request, spot, form, status=422)
    told = form.told()
    try:
        records = completing.complete_visit(spot.visit, by=request.user, **told)
    except ValidationError as refusal:
        if getattr(refusal, "code", "") == "completed":
            return beside(request, spot, told, refusal)
        return refused(request, visit_id, form, refusal)
    numbers = ", ".join(str(record.number) for record in records)
    kept = _("Kept as record %(numbers)s.") % {"numbers": numbers}
    messages.success(request, kept if records else _("The visit is done."))
    return back(request, spot)


def beside(request, spot, told, first):
    """Keep a second report beside the first, and say who was first and that a person must look."""
    report = completing.VisitReport(by=request.user, **told)
    records = completing.keep_beside(spot.visit, report, now=timezone.now())
    numbers = ", ".join(str(record.number) for record in records)
    kept = _("Kept beside it as record %(numbers)s, to be looked at.") % {"numbers": numbers}
    messages.warning(request, " ".join([*first.messages, kept]))
    return back(request, spot)


def refused(request, visit_id, form, refusal):
    """Show why nothing was kept, and what is to be put right."""
    spot = spot_for(request, visit_id, to_report=True)
    form.add_error(None, refusal)
    return shown(request, spot, form, status=422)


@require_POST
@allow(CREW)
@private
def hold_here(request, visit_id):
    """Put the visit off from the spot, with the reason."""
    spot = spot_for(request, visit_id)
    hold_form = HoldForm(request.POST, prefix="hold")
    if hold_form.is_valid() and held(hold_form, spot, request.user):
        messages.success(request, _("The visit is held. The office sees why."))
        return back(request, spot)
    form = form_of(spot, request.user)
    return shown(request, spot, form, status=422, hold_form=hold_form)


def back(request, spot):
    """Go back to the visit, or to the day where the person does not see the visit any more."""
    if Visit.objects.for_user(request.user).filter(pk=spot.visit.pk).exists():
        return redirect("services:visit", spot.visit.pk)
    return redirect("services:day", spot.day)


def held(form, spot, user):
    """Hold a visit, or say among the errors of the form why it cannot be held."""
    typed = form.cleaned_data
    try:
        return holding.hold_visit(spot.visit, by=user, at=timezone.now(), **typed)
    except ValidationError as refusal:
        form.add_error(None, refusal)
        return None


@require_POST
@allow(CERTIFIED)
@private
def lift_here(request, visit_id):
    """Lift the hold of a visit from its page."""
    spot = spot_for(request, visit_id)
    if spot.hold is not None:
        holding.lift_hold(spot.hold, by=request.user, at=timezone.now())
        messages.success(request, _("The hold is lifted."))
    return redirect("services:visit", visit_id)


def spot_for(request, visit_id, *, to_report=False):
    """Return a visit that the person may see, or may report, as it stands now."""
    visits = visits_on_the_spot(request.user, to_report=to_report)
    found = get_object_or_404(visits, pk=visit_id)
    return spot_of(found, request.user, timezone.now())


def form_of(spot, user, data=None, *, unfinished=False):
    """Return the form of a visit: with amounts and people where something is sprayed."""
    kind = SprayForm if spot.sprays() else WorkForm
    return kind(
        data,
        visit=spot.visit,
        offered=offered_to(spot, user),
        may_be_paper=has_role(user, MAY_ENTER_PAPER),
        unfinished=unfinished,
        initial={"from_paper": role_of(user) is Role.OFFICE},
    )


def shown(request, spot, form, *, status=200, **others):
    """Show the page of a visit."""
    context = {
        "spot": spot,
        "visit": spot.visit,
        "stop": spot.stop,
        "form": form,
        "hold_form": HoldForm(prefix="hold"),
        "verdict": None,
        "kept": kept_of(spot.visit) if spot.is_done() else None,
        **others,
    }
    return render(request, "services/visit.html", context, status=status)

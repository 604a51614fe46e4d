"""Estimates of the office: written, sent, withdrawn, and put on once the client has accepted."""

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients.access import OFFICE, allow
from clients.models import Planting
from clients.sorting import Order
from clients.views import entry, words_asked
from services import estimating
from services.dispatching import today_at_yard
from services.forms.estimates import USUALLY_VALID, BeginForm, EstimateForm, PricesForm
from services.models import Estimate
from services.showing.findings import look_at
from services.views.courses import is_narrowed, plantings_asked_for
from services.views.paper import pdf

ROWS = 50
ESTIMATES_BY = {
    "number": "number",
    "client": "property__client__name",
    "rotation": "rotation__name",
    "valid": "valid_until",
    "total": "total",
}


@require_safe
@allow(OFFICE)
def estimates(request):
    """Show all estimates, the newest first, with what became of each."""
    found = Estimate.objects.for_user(request.user)
    found = found.select_related("property__client", "rotation", "answer", "course")
    order = Order(request.GET, ESTIMATES_BY, usual="-number")
    page = Paginator(order.sorted(found), ROWS).get_page(request.GET.get("page"))
    today = today_at_yard()
    rows = [(each, each.state_on(today)) for each in page]
    return render(request, "services/estimates.html", {"page": page, "rows": rows, "order": order})


@require_http_methods(["GET", "HEAD", "POST"])
@allow(OFFICE)
def new_estimate(request):
    """Write an estimate, after what stands against the course and its prices were shown."""
    plantings = Planting.objects.for_user(request.user).select_related("property__client")
    offered = plantings_asked_for(plantings, request)
    today = today_at_yard()
    form = EstimateForm(request.POST or None, plantings=offered, initial=begun(request, today))
    look = prices = None
    if form.is_valid():
        typed = form.cleaned_data
        chosen = list(typed["plantings"])
        look = look_at(typed["rotation"], chosen, typed["first_day"], today)
        weeks = estimating.priced_weeks(typed["rotation"], chosen, typed["first_day"])
        seen = form.was_looked_at()
        prices = PricesForm(request.POST if seen else None, weeks=weeks)
        if seen and prices.is_valid() and (kept := written(request, form, prices, today)):
            return redirect("services:estimate", kept.pk)
        form.note_looked_at()
    context = {
        "look": look,
        "prices": prices,
        "words": words_asked(request),
        "is_narrowed": is_narrowed(request),
    }
    answer = entry(request, form, "services/new_estimate.html", **context)
    is_wrong = (look is not None and look.refuses()) or (prices is not None and bool(prices.errors))
    answer.status_code = 422 if is_wrong else answer.status_code
    return answer


def begun(request, today):
    """Return what a new estimate begins with."""
    return {
        "rotation": request.GET.get("rotation"),
        "plantings": [key for key in request.GET.getlist("planting") if key.isdecimal()],
        "first_day": today,
        "valid_until": today + USUALLY_VALID,
    }


def written(request, form, prices, today):
    """Write the estimate; return it, or None with the reason among the errors."""
    typed = form.cleaned_data
    try:
        return estimating.write_estimate(
            rotation=typed["rotation"],
            plantings=list(typed["plantings"]),
            first_day=typed["first_day"],
            valid_until=typed["valid_until"],
            note=typed["note"],
            form_id=typed["form_id"],
            prices=prices.prices(),
            by=request.user,
            today=today,
            at=timezone.now(),
        )
    except ValidationError as refused:
        form.add_error(None, refused.messages)
        return None


@require_safe
@allow(OFFICE)
def estimate(request, estimate_id):
    """Show an estimate, what became of it, and what can be done."""
    return shown(request, estimate_for(request, estimate_id))


def shown(request, found, form=None, status=200):
    """Show an estimate, with the form that puts it on where it was accepted."""
    today = today_at_yard()
    state = found.state_on(today)
    may_begin = state == Estimate.State.ACCEPTED and found.course is None
    first_day = max(today, found.first_day)
    plantings = list(found.plantings.all())
    context = {
        "estimate": found,
        "state": state,
        "look": look_at(found.rotation, plantings, first_day, today) if may_begin else None,
        "is_open": state == Estimate.State.OPEN,
        "may_begin": may_begin,
        "form": form or BeginForm(initial={"first_day": first_day}),
        "answer": getattr(found, "answer", None),
    }
    return render(request, "services/estimate.html", context, status=status)


@require_safe
@allow(OFFICE)
def estimate_paper(request, estimate_id):
    """Hand out the paper of an estimate as it was written."""
    return paper_of(estimate_for(request, estimate_id))


def paper_of(found):
    """Answer with the paper of an estimate; one of a removed client is there no longer."""
    if not found.paper:
        raise Http404
    return pdf(bytes(found.paper), f"estimate-{found.number}")


@require_POST
@allow(OFFICE)
def send_estimate(request, estimate_id):
    """Have an estimate mailed with its link; pressed twice it goes once."""
    found = estimate_for(request, estimate_id)
    done = _("It goes out by mail, with a link by which the client answers.")
    act(request, done, lambda: estimating.send_estimate(found, today=today_at_yard(), at=now()))
    return redirect("services:estimate", estimate_id)


@require_POST
@allow(OFFICE)
def withdraw_estimate(request, estimate_id):
    """Take an estimate back that has no answer."""
    found = estimate_for(request, estimate_id)
    act(request, _("It is withdrawn."), lambda: estimating.withdraw(found, at=now()))
    return redirect("services:estimate", estimate_id)


@require_POST
@allow(OFFICE)
def begin_estimate(request, estimate_id):
    """Put an accepted estimate on its plantings; a refusal stops it and is shown."""
    found, form = estimate_for(request, estimate_id), BeginForm(request.POST)
    if not form.is_valid():
        return shown(request, found, form, status=422)
    told = {"by": request.user, "today": today_at_yard(), "at": now()}
    try:
        course = estimating.begin(found, first_day=form.cleaned_data["first_day"], **told)
    except ValidationError as refused:
        form.add_error(None, refused.messages)
        return shown(request, found, form, status=422)
    return redirect("services:course", course.pk)


def act(request, done, action):
    """Do something, and say that it is done or why not."""
    try:
        action()
    except ValidationError as refused:
        messages.error(request, " ".join(refused.messages))
    else:
        messages.success(request, done)


def now():
    """Return this moment."""
    return timezone.now()


def estimate_for(request, estimate_id):
    """Return an estimate that the person may see."""
    found = Estimate.objects.for_user(request.user)
    found = found.select_related("property__client", "rotation__pest", "answer", "course")
    return get_object_or_404(
        found.prefetch_related("weeks", "plantings__property__client"), pk=estimate_id
    )

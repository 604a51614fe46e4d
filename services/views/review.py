"""Review: what phones said and a person must look at, decide, or make whole."""

from dataclasses import replace

from django.contrib import messages
from django.core.exceptions import ValidationError
from django.core.paginator import Paginator
from django.http import FileResponse, Http404
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.views.decorators.cache import cache_control
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from clients.access import OFFICE, STAFF, allow, has_role
from services.completing import VisitReport
from services.field import reviewing
from services.field.photos import NoPhoto, shown
from services.field.showing import report_shown
from services.forms.review import DecisionForm, WhichVisitForm, typed_of
from services.forms.spot import SprayForm, WorkForm
from services.models import FieldEvent, FieldPhoto
from services.showing.phones import late_phones
from services.showing.spot import offered_to, spot_of, visits_on_the_spot

ROWS = 50
private = cache_control(private=True, no_store=True)


@require_safe
@allow(STAFF)
def review(request):
    """List what waits for a decision, and what was decided last."""
    events = FieldEvent.objects.select_related("person", "device", "decided_by").select_related(
        "visit__course__property", "visit__course__rotation"
    )
    waiting = events.to_review().order_by("received_at")
    decided = events.filter(decided_at__isnull=False).order_by("-decided_at")
    page = Paginator(waiting, ROWS).get_page(request.GET.get("page"))
    context = {
        "page": page,
        "waiting": [report_shown(event) for event in page],
        "decided": decided[:10],
        "late": late_phones(timezone.now()),
        "is_office": has_role(request.user, OFFICE),
    }
    return render(request, "services/review.html", context)


@require_safe
@allow(STAFF)
@private
def report(request, event_id):
    """Show what a phone said, what is odd about it, and what may be decided."""
    return _page(request, event_for(event_id))


@require_POST
@allow(STAFF)
def decide_report(request, event_id):
    """Note what is decided of a report, and why."""
    event = event_for(event_id)
    form = DecisionForm(request.POST, open_to=reviewing.decisions_for(event))
    if not form.is_valid():
        return _page(request, event, form=form, status=422)
    try:
        reviewing.decide(event, by=request.user, at=timezone.now(), **form.cleaned_data)
    except ValidationError as refusal:
        form.add_error(None, refusal)
        return _page(request, event, form=form, status=422)
    messages.success(request, _("Decided: %(what)s.") % {"what": event.get_decision_display()})
    return redirect("services:review")


@require_POST
@allow(STAFF)
def which_visit(request, event_id):
    """Note which visit a draft is of, and go on to make it whole."""
    event = event_for(event_id)
    form = WhichVisitForm(request.POST, done_at=event.done_at or event.received_at)
    if not form.is_valid():
        return _page(request, event, which=form, status=422)
    reviewing.say_which_visit(event, form.cleaned_data["visit"])
    return redirect("services:complete_draft", event.event_id)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
@private
def complete_draft(request, event_id):
    """Make a draft whole by the form of its visit, which begins with what the phone told."""
    event = event_for(event_id)
    if not reviewing.is_draft(event) or event.visit_id is None:
        return redirect("services:report", event.event_id)
    spot = spot_of(
        get_object_or_404(visits_on_the_spot(request.user), pk=event.visit_id),
        request.user,
        timezone.now(),
    )
    form = _form_of(event, spot, request)
    if form.is_valid() and _completed(request, event, form):
        messages.success(request, _("The draft is kept as a report."))
        return redirect("services:report", event.event_id)
    context = {"report": report_shown(event), "form": form, "spot": spot, "visit": spot.visit}
    status = 422 if form.is_bound else 200
    return render(request, "services/complete_draft.html", context, status=status)


def _form_of(event, spot, request):
    kind = SprayForm if spot.sprays() else WorkForm
    form = kind(request.POST or None, visit=spot.visit, offered=offered_to(spot, request.user))
    for name, value in typed_of(reviewing.told_by(event), spot.visit).items():
        if name in form.fields:
            form.fields[name].initial = value
    return form


def _completed(request, event, form):
    """Keep what was typed, or say among the errors of the form why it cannot be kept."""
    told = VisitReport(**(form.told() | {"by": request.user, "form_id": event.event_id}))
    told = replace(
        told,
        captured_at=event.captured_at or told.captured_at,
        flags=(*told.flags, *reviewing.flags_of_draft(event)),
    )
    try:
        return reviewing.complete_draft(event, told, by=request.user, now=timezone.now()) or True
    except ValidationError as refusal:
        form.add_error(None, refusal)
        return None


@require_safe
@allow(STAFF)
@private
def photo(request, photo_id):
    """Show a photo from the field, without its metadata; one still on its way has its report."""
    kept = get_object_or_404(FieldPhoto.objects.select_related("event"), pk=photo_id)
    if kept.kept_at is None:
        return redirect("services:report", kept.event.event_id)
    try:
        return FileResponse(shown(kept).open("rb"), content_type="image/jpeg")
    except (NoPhoto, FileNotFoundError) as error:
        raise Http404 from error


def event_for(event_id):
    """Return an event by the id that its phone gave it."""
    events = FieldEvent.objects.select_related(
        "person", "device", "decided_by", "visit__course__property", "visit__course__rotation"
    )
    return get_object_or_404(events, event_id=event_id)


def _page(request, event, *, form=None, which=None, status=200):
    open_to = reviewing.decisions_for(event)
    context = {
        "report": report_shown(event),
        "photos": event.photos.order_by("pk"),
        "form": form or DecisionForm(open_to=open_to),
        "which": which or WhichVisitForm(done_at=event.done_at or event.received_at),
    }
    return render(request, "services/report.html", context, status=status)

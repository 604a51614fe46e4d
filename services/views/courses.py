"""Courses: a rotation put on plantings, its weeks moved within their days, and its end."""

from django.contrib import messages
from django.core.exceptions import PermissionDenied, ValidationError
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_safe

from clients.access import STAFF, allow
from clients.models import Planting
from clients.offering import is_key, with_words
from clients.views import entry, words_asked
from services import courses
from services.dispatching import today_at_yard
from services.forms.courses import EndForm, MoveForm, NewCourseForm
from services.models import Course, Visit
from services.reach import may_schedule
from services.showing.course import course_rows
from services.showing.expected import expected_before, expected_of
from services.showing.findings import look_at


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def new_course(request):
    """Put a rotation on plantings, after what stands against it was shown."""
    plantings = Planting.objects.for_user(request.user).select_related("property__client")
    offered = plantings_asked_for(plantings, request)
    form = NewCourseForm(request.POST or None, plantings=offered, initial=_begun(request))
    look = _looked(form) if form.is_valid() else None
    if look and form.was_looked_at() and not look.refuses():
        begun = _put_on(request, form)
        if begun:
            return redirect("services:course", begun[0].pk)
    if look:
        form.note_looked_at()
    context = {
        "look": look,
        "expected": _expected(form) if look else [],
        "words": words_asked(request),
        "is_narrowed": is_narrowed(request),
    }
    answer = entry(request, form, "services/new_course.html", **context)
    answer.status_code = 422 if look and look.refuses() else answer.status_code
    return answer


@require_safe
@allow(STAFF)
def course(request, course_id):
    """Show the weeks of a course: what was done, what comes, what is held."""
    found, today = get_object_or_404(_courses(), pk=course_id), today_at_yard()
    shown = {
        "course": found,
        "rows": course_rows(found, today, request.user),
        "expected": expected_of(found, today, request.GET),
        "may_schedule": may_schedule(request.user, found),
    }
    return render(request, "services/course.html", shown)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def move_visit(request, visit_id):
    """Plan a visit for another of its days; the later weeks follow."""
    visit = _visit_to_schedule(request, visit_id)
    form = MoveForm(request.POST or None, visit=visit, today=today_at_yard())
    if form.is_valid() and (moved := _moved(request, form, visit)) is not None:
        _tell_moved(request, moved)
        return redirect("services:course", visit.course_id)
    return entry(request, form, "services/move_visit.html", visit=visit)


@require_http_methods(["GET", "HEAD", "POST"])
@allow(STAFF)
def end_course(request, course_id):
    """End a course with how it came out; what was made stays."""
    found = get_object_or_404(_courses(), pk=course_id)
    if not may_schedule(request.user, found):
        raise PermissionDenied
    form = EndForm(request.POST or None)
    if form.is_valid():
        courses.end_course(found, by=request.user, at=timezone.now(), **form.cleaned_data)
        messages.success(request, _("The course is over."))
        return redirect("services:course", course_id)
    to_cancel = found.visits.filter(state=Visit.State.NEEDS_ACTION).count()
    return entry(request, form, "services/end_course.html", course=found, to_cancel=to_cancel)


def _courses():
    return Course.objects.select_related("property__client", "rotation__pest", "started_by")


def plantings_asked_for(plantings, request):
    """Offer the plantings of one property, or those in whose names words occur."""
    place, words = request.GET.get("property", ""), words_asked(request)
    if is_key(place):
        plantings = plantings.filter(property=int(place))
    return with_words(plantings, words)


def is_narrowed(request):
    """Say whether not all plantings are offered."""
    return bool(words_asked(request)) or is_key(request.GET.get("property", ""))


def _begun(request):
    """Return what the address fills in: a rotation, plantings."""
    plantings = [key for key in request.GET.getlist("planting") if is_key(key)]
    return {
        "rotation": request.GET.get("rotation"),
        "plantings": plantings,
        "first_day": today_at_yard(),
    }


def _looked(form):
    typed = form.cleaned_data
    return look_at(typed["rotation"], list(typed["plantings"]), typed["first_day"], today_at_yard())


def _expected(form):
    typed = form.cleaned_data
    told = typed["rotation"], typed["plantings"], typed["first_day"]
    return expected_before(*told, today_at_yard())


def _put_on(request, form):
    typed = form.cleaned_data
    try:
        return courses.put_on(
            rotation=typed["rotation"],
            plantings=list(typed["plantings"]),
            first_day=typed["first_day"],
            by=request.user,
            today=today_at_yard(),
        )
    except ValidationError as refusal:
        form.add_error(None, refusal.messages)
        return []


def _visit_to_schedule(request, visit_id):
    visits = Visit.objects.for_user(request.user).select_related(
        "course__property", "course__rotation", "rotation_week__product", "dispatch__crew"
    )
    visit = get_object_or_404(visits, pk=visit_id)
    if not may_schedule(request.user, visit.course):
        raise PermissionDenied
    return visit


def _moved(request, form, visit):
    typed = form.cleaned_data
    try:
        return courses.move_visit(
            visit, day=typed["day"], by=request.user, version=typed["version"]
        )
    except ValidationError as refusal:
        form.add_error(None, refusal)
        form.show_version(visit.version)
        return None


def _tell_moved(request, moved):
    later = len(moved) - 1
    if not moved:
        messages.info(request, _("It is planned for that day already."))
        return
    messages.success(request, _("The visit was moved."))
    if later > 0:
        words = ngettext("%(count)s later week follows.", "%(count)s later weeks follow.", later)
        messages.info(request, words % {"count": later})
    for each in moved:
        for finding in each.findings:
            messages.warning(request, finding.say(_))

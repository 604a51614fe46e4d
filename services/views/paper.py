"""Paper as PDF: visit sheets of crews, application records, clients' letters."""

from datetime import timedelta

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.http import content_disposition_header
from django.utils.text import slugify
from django.utils.translation import check_for_language, get_language
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from clients.access import CREW, EVERYONE, OFFICE, allow, has_role
from services import printing
from services.dispatching import today_at_yard
from services.models import Visit
from services.paper_signing import signed_paper
from services.project.errors import tell
from services.showing.day import dispatches_for
from treatments.forms.records import SiftForm
from treatments.models import ApplicationRecord

MOST_RECORDS = 200


@require_safe
@allow(CREW)
def visit_sheets(request, dispatch_id):
    """Print the paper of one crew's day, in the language of its people."""
    dispatch = get_object_or_404(dispatches_for(request.user), pk=dispatch_id)
    name = f"visit-sheets-{dispatch.day}-{slugify(dispatch.crew.name) or dispatch.crew_id}"
    return sheets(request, [dispatch], name, dispatch.crew.language())


@require_safe
@allow(CREW)
def day_sheets(request, day):
    """Print the paper of all crews of a day."""
    found = list(dispatches_for(request.user).filter(day=day))
    return sheets(request, found, f"visit-sheets-{day}", get_language())


@require_safe
@allow(CREW)
def week_sheets(request, monday):
    """Print the paper of all crews of the six days from a Monday on."""
    week = (monday, monday + timedelta(days=5))
    found = list(dispatches_for(request.user).filter(day__range=week))
    return sheets(request, found, f"visit-sheets-week-of-{monday}", get_language())


def sheets(request, dispatches, name, language):
    """Answer with visit sheets; gate codes for the office, and for a crew on the day itself."""
    if not dispatches:
        raise Http404
    paper = printing.visit_sheets_pdf(
        dispatches,
        language=wanted_language(request, language),
        now=timezone.now(),
        with_gate_codes=may_have_gate_codes(request.user, dispatches),
    )
    return pdf(paper, name)


def may_have_gate_codes(user, dispatches):
    """Say whether the codes of the gates are printed: for the office, and for a crew on the day."""
    today = today_at_yard()
    return has_role(user, OFFICE) or all(
        dispatch.day == today
        and user.pk in [person.user_id for person in dispatch.crew.technicians.all()]
        for dispatch in dispatches
    )


def wanted_language(request, language):
    """Return the language that was asked for in the address, or the given one."""
    asked = request.GET.get("language", "")
    return asked if asked and check_for_language(asked) else language


@require_safe
@allow(EVERYONE)
def record_pdf(request, number):
    """Print one record with all that amends it."""
    kept = ApplicationRecord.objects.for_user(request.user)
    record = get_object_or_404(kept, number=number)
    return records_paper(request, [record], f"application-record-{number}")


@require_safe
@allow(EVERYONE)
def records_pdf(request):
    """Print the records that fit what is looked for in the register, the oldest first."""
    form = sifted(request)
    if form.is_unreadable():
        return not_read(request)
    records = list(form.found().order_by("number")[: MOST_RECORDS + 1])
    if not records:
        raise Http404
    if len(records) > MOST_RECORDS:
        sentence = _("More than %(most)s records are too many for one paper.")
        return tell(
            request,
            422,
            sentence % {"most": MOST_RECORDS},
            _("Narrow the days down, or take the package."),
        )
    name = f"application-records-{records[0].number}-to-{records[-1].number}"
    return records_paper(request, records, name)


def sifted(request):
    """Return what is looked for among the records that a person may see."""
    kept = ApplicationRecord.objects.for_user(request.user)
    return SiftForm(request.GET or None, records=kept)


def not_read(request):
    """Hand out nothing where it cannot be read what is looked for, rather than all."""
    sentence = _("What you look for cannot be read, so nothing was printed or packed.")
    return tell(request, 422, sentence, _("Look again in the register; it says what is wrong."))


def records_paper(request, records, name):
    """Answer with records, in the language of the page or the one asked for."""
    language = wanted_language(request, get_language())
    paper = printing.records_pdf(records, language=language, now=timezone.now())
    return pdf(signed_paper(paper), name)


@require_safe
@allow(CREW)
def summary_pdf(request, visit_id):
    """Print what the client is told of a visit that was made."""
    visits = Visit.objects.for_user(request.user).filter(state=Visit.State.COMPLETED)
    visit = get_object_or_404(visits.with_all_that_is_shown(), pk=visit_id)
    return summary_paper(visit, wanted_language(request, None))


def summary_paper(visit, language=None):
    """Answer with the letter of a visit."""
    place = slugify(visit.course.property.name) or visit.course.property_id
    day = visit.completed_at.astimezone(visit.course.property.zone()).date()
    return pdf(printing.summary_pdf(visit, language=language), f"summary-{day}-{place}")


def pdf(paper, name):
    """Answer with a paper that no cache keeps, to be shown by the browser under its name."""
    answer = HttpResponse(paper, content_type="application/pdf")
    answer["Content-Disposition"] = content_disposition_header(False, f"{name}.pdf") or "inline"
    answer["Cache-Control"] = "private, no-store"
    answer["X-Robots-Tag"] = "noindex"
    return answer
